package rehearse

import (
	"math"
	"testing"
	"time"

	"trueup/loop/session"
)

// Where the time of a run went adds up to all of it, also where readings begin before all light stands: what a fade takes is told as a fade.
func TestWhereTheTimeWentAddsUp(t *testing.T) {
	for _, j := range []Job{wall(t, 12, 1), jobOf(t, "../../examples/demo/rig.yaml"), mixed(t, 40)} {
		for seed := range uint64(3) {
			j.Seed = seed + 1
			p, err := j.Play()
			if err != nil || p.Err != nil {
				t.Fatal(err, p.Err)
			}
			var s session.Spending
			var floor session.Floor
			early := 0
			for i := range p.Entries {
				e := &p.Entries[i]
				s.Take(e)
				floor.Take(e)
				if e.Reading != nil && e.Reading.Early {
					early++
				}
			}
			sum := s.Spent()
			if off := (sum.Total() - p.Took).Seconds(); math.Abs(off) > 0.02*p.Took.Seconds() {
				t.Errorf("%s, seed %d: the parts are %v off the run's %v: %+v", j.Rig.Name, j.Seed, time.Duration(off*float64(time.Second)), p.Took, sum)
			}
			if sum.Fade < floor.Ramps-floor.Ramps/100 { // a fade begins with the frame before its wish
				t.Errorf("%s, seed %d: %v for fades, of which the limits ask at least %v", j.Rig.Name, j.Seed, sum.Fade, floor.Ramps)
			}
			if early == 0 {
				t.Errorf("%s, seed %d: no reading began early", j.Rig.Name, j.Seed)
			}
		}
	}
}
