package rigtest

import (
	"testing"
	"time"

	"trueup/loop/session/core"
)

// A lamp at a wrong address reads as the background, which stands still: the first of each type is one. It neither shows a dead time
// nor that a kept one holds, which is far too short for the others.
func TestALampWithoutLightShowsNoDeadTime(t *testing.T) {
	c := *class(t, "slow lamps, 2 s")
	c.Alike, c.Background = 6, 0.1
	slow, wrong, i := c.Lamp, class(t, "wrong address"), 0
	c.Lamp = func(l *lampPlan, d *draws) {
		slow(l, d)
		for i%6 == 0 && !l.spoilt {
			wrong.Lamp(l, d)
		}
		i++
	}
	for what, kept := range map[string]time.Duration{"nothing": 0, "300 ms": 300 * time.Millisecond} {
		var runs []Run
		for n := range 3 {
			i = 0
			r := c.Rig(12, n)
			known := core.TypeTimes{DeadTimes: map[string]time.Duration{}}
			keys := map[string]bool{}
			for j := range r.Config.Units {
				u := &r.Config.Units[j]
				if u.SettleKnown || u.SettleKey() == "" {
					continue
				}
				if keys[u.SettleKey()] = true; kept > 0 {
					known.DeadTimes[u.SettleKey()] = kept
				}
			}
			run, found, _, _ := playedWith(t, r, known)
			for key := range keys {
				if d := found.DeadTimes[key]; d < 4*time.Second {
					t.Errorf("%s kept, rig %d: %s is waited for %v, four time constants are 8 s", what, n, key, d)
				}
			}
			runs = append(runs, run)
		}
		if s := Sum(&c, runs); s.Landed < 0.75 || s.False > 0.03 || s.Failed > 0 {
			t.Errorf("%s kept: landed %.2f, false %.3f, failed %d", what, s.Landed, s.False, s.Failed)
		}
	}
}
