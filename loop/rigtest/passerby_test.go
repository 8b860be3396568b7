package rigtest

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
)

// Somebody who steps through the beam while the first lamp of a type shows how long its light takes sets that for this lamp, and not
// for its type: the next one shows it again. Each of such types was waited for up to two seconds at every step, as often as there were lamps of it.
func TestOnePasserByDoesNotSlowAType(t *testing.T) {
	for n := range 4 {
		c := class(t, "still, dark room")
		r := c.Rig(21, n)
		k := newCore(t, r.Config)
		timed := map[string]int{}
		var in, out time.Duration
		longest := time.Duration(0)
		w := r.world(k)
		w.Heard = func(e core.Entry) {
			if e.Kind != core.KindSettle || e.Reading == nil || e.Fixture != "lamp 1" {
				return
			}
			if timed[e.Fixture]++; timed[e.Fixture] == 1 {
				in, out = w.Now(), w.Now()+800*time.Millisecond
			}
		}
		for _, p := range w.Probes {
			open := p.Light
			p.Light = func(d time.Duration) colorcalc.XYZ {
				if now := w.Now(); in > 0 && now >= in && now < out {
					return open(d).Scale(0.7)
				}
				return open(d)
			}
		}
		w.run(10 * time.Minute)
		for _, d := range k.DeadTimes() {
			longest = max(longest, d)
		}
		if timed["lamp 1"] < 5 || w.err != nil {
			t.Fatalf("rig %d: nobody stepped in: %d readings timed lamp 1, %v", n, timed["lamp 1"], w.err)
		}
		t.Logf("rig %d: waits %v, %v for the run", n, longest, w.Now())
		if longest > 500*time.Millisecond {
			t.Errorf("rig %d: a type is waited for %v", n, longest)
		}
	}
}
