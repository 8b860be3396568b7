package rehearse

import (
	"testing"
	"time"

	"trueup/loop/session"
)

// From a third of a run on, the time left is told within a fifth of what it then truly is, or within two visits of a
// fixture: near the end a fifth is nothing.
func TestTheTimeLeftIsToldFromAThirdOfTheRunOn(t *testing.T) {
	for _, c := range []struct {
		Job
		lanes int
	}{{wall(t, 12, 1), 1}, {wall(t, 60, 1), 1}, {wall(t, 60, 4), 4}, {jobOf(t, "../../examples/demo/rig.yaml"), 1}} {
		j := c.Job
		for seed := range uint64(5) {
			j.Seed = seed + 1
			p, err := j.Play()
			if err != nil || p.Err != nil {
				t.Fatal(err, p.Err)
			}
			var progress session.Progress
			end := p.Entries[len(p.Entries)-1].Time
			worst, at := 0.0, 0.0
			for i := range p.Entries {
				e := &p.Entries[i]
				progress.Take(e)
				gone, rest := e.Time.Sub(epoch), end.Sub(e.Time)
				if gone < p.Took/3 {
					continue
				}
				left, ok := progress.Left(e.Time)
				if !ok {
					if !progress.Ended {
						t.Errorf("%s, seed %d: nothing is told %v into a run of %v", j.Rig.Name, j.Seed, gone, p.Took)
					}
					continue
				}
				off := (left - rest).Abs()
				slack := time.Duration(c.lanes) * p.Took / time.Duration(progress.Of) // half of the run is each round
				if share := off.Seconds() / (0.2*rest.Seconds() + slack.Seconds()); share > worst {
					worst, at = share, gone.Seconds()/p.Took.Seconds()
				}
			}
			t.Logf("%s, seed %d: %v, worst %.2f of the bound at %.0f %%", j.Rig.Name, j.Seed, p.Took, worst, 100*at)
			if worst > 1 {
				t.Errorf("%s, seed %d: off by %.2f of the bound", j.Rig.Name, j.Seed, worst)
			}
			if progress.Done != progress.Of || progress.Landed+progress.Not != progress.Of {
				t.Errorf("%s: at the end %+v", j.Rig.Name, progress)
			}
		}
	}
}
