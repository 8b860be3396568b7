package rigtest

import (
	"errors"
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A person who stops a run right after it has said that lamps are read again is not told that those have landed: of each lamp
// at that probe that is not where it was said to be, nothing is claimed, in words. What lamps have shown that the light did not harm stands.
// A light that comes and goes between two looks each is not met by any: of one lamp the claim is false without the stop as well.
func TestAStopTakesBackWhatWasToBeReadAgain(t *testing.T) {
	landed, wrong, back := 0, 0, 0
	for _, name := range []string{"ambient 1, one step", "somebody's bright lamp, switched every 10-40 s", "ambient 0.3 switches every 20-60 s"} {
		c := class(t, name)
		for n := range 14 {
			r := c.Rig(301, n)
			run := newCore(t, r.Config)
			j := r.judge()
			w := r.world(run)
			stopped, probe := false, ""
			w.Heard = func(e core.Entry) {
				j.hear(e, w)
				if !stopped && e.Kind == core.KindDrift && strings.Contains(e.Note, "are read again") {
					stopped, probe = true, e.Reading.Probe
					w.At(w.Now()+time.Millisecond, func() { w.Tell(core.Event{Kind: core.Stop, Why: "stopped by a person"}) })
				}
			}
			if w.run(longest * time.Duration(len(r.lamps))); stopped != errors.Is(w.err, core.ErrStopped) {
				t.Errorf("%s, rig %d: it ends with %v", name, n, w.err)
			}
			if !stopped {
				continue
			}
			for i, l := range j.sum(w).Lamps {
				switch {
				case r.lamps[i].probe != probe:
				case l.Outcome.Landed():
					landed++
					if l.Beyond() {
						wrong++
						t.Logf("%s, rig %d: %s is said to have landed with %.3f, and stands %.4f off", name, n, l.Name, l.Outcome.Probability, l.Error())
					}
				case l.Outcome != nil && l.Outcome.Result == solve.Unsettled && strings.Contains(l.Outcome.Reason, "stopped"):
					back++
				}
			}
		}
	}
	t.Logf("%d landed, %d taken back", landed, back)
	if landed == 0 || back == 0 || wrong > 1 {
		t.Errorf("%d lamps stand as landed, %d of them beyond 1.5 times the tolerance; of %d it was taken back", landed, wrong, back)
	}
}
