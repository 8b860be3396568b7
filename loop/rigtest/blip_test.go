package rigtest

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A network that drops out for a second, again and again, takes the light of all lamps away for some readings in a row. No lamp is given up for that, however
// short a time ago its dark was read.
func TestAShortLossOfLightGivesNoLampUp(t *testing.T) {
	const every, stays = 11 * time.Second, 1100 * time.Millisecond
	lamps, landed, blips, most := 0, 0, 0, 8
	for n := range most {
		c := class(t, []string{"still, dark room", "ambient 0.3, constant"}[n%2])
		r := c.Rig(31, n)
		j := r.judge()
		w := r.world(newCore(t, r.Config))
		out := func() bool { return w.Now()%every >= every-stays }
		weak := map[string]bool{}
		w.Heard = func(e core.Entry) {
			j.hear(e, w)
			weak[e.Fixture] = weak[e.Fixture] || e.Kind == core.KindAside && out()
		}
		for name, p := range w.Probes {
			open, probe := p.Light, r.probe(name)
			p.Light = func(d time.Duration) colorcalc.XYZ {
				if out() && !probe.reference {
					return probe.light.At(w.Now())
				}
				return open(d)
			}
		}
		w.run(longest * time.Duration(len(r.lamps)))
		for _, l := range j.sum(w).Lamps {
			lamps++
			if weak[l.Name] {
				blips++
			}
			switch o := l.Outcome; {
			case o.Landed():
				landed++
			case o != nil && o.Result == solve.Held && strings.Contains(o.Reason, "no light"):
				t.Errorf("rig %d, %s: %s", n, l.Name, o.Reason)
			case o != nil:
				t.Logf("rig %d, %s: %v %s", n, l.Name, o.Result, o.Reason)
			}
		}
	}
	t.Logf("%d of %d landed, %d lost their light", landed, lamps, blips)
	if blips < lamps/8 || landed < lamps*97/100 {
		t.Errorf("%d of %d landed, %d lost their light", landed, lamps, blips)
	}
}
