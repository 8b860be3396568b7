package rigtest

import (
	"testing"
	"time"

	"trueup/loop/stage"
)

// Somebody who stands in the light of the reference, a lamp beside others, while it is read again takes lamps from nobody, nor time; a reference that gets
// dimmer for good, as by a gel, is followed all the same.
func TestSomebodyInTheLightOfTheReference(t *testing.T) {
	for _, c := range []Class{
		{Name: "people walk through the beams", OwnLamp: true, Background: 0.3, Passer: 40 * time.Second},
		{Name: "a gel is put in", OwnLamp: true, Reference: func(d *draws) stage.Change {
			return stage.Change{Gel: d.seconds(20, 60), GelMoved: d.towards(d.between(0.005, 0.02)), GelFactor: d.between(0.5, 0.8)}
		}},
	} {
		lamps, missed, beyond, seconds := 0, 0, 0, 0.0
		for n := range 25 {
			run := c.Rig(4801, n).Play()
			if run.Err != nil {
				t.Fatal(run.Err)
			}
			seconds += run.Seconds
			for _, l := range run.Lamps {
				switch {
				case !l.Reachable:
					continue
				case !l.Outcome.Landed():
					missed++
				case l.Error() > 1.5*tolerance:
					beyond++
				}
				lamps++
			}
		}
		t.Logf("%s: of %d lamps %d are not landed, %d are landed and beyond 1.5 tolerances, %.1f s a lamp", c.Name, lamps, missed, beyond, seconds/float64(lamps))
		if missed*100 > 2*lamps || beyond*100 > lamps {
			t.Errorf("%s: of %d lamps %d are not landed, %d are landed and beyond 1.5 tolerances", c.Name, lamps, missed, beyond)
		}
	}
}
