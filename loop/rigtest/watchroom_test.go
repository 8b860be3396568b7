package rigtest

import (
	"testing"
	"time"
)

// A light that comes on in the room while a lamp is watched changes what is read of it, in level and in colour: that is no lamp that sets itself. The dark is looked at
// before it is said to be. One in ten was.
func TestALightThatComesWhileALampIsWatchedIsNotTheLamp(t *testing.T) {
	c := Class{Name: "watched, somebody's lamp once", Lamps: 6, Probes: 1, Watch: watched, Somebody: somebody{1, 10 * time.Second, 40 * time.Second, 0.2}}
	lamps, accused, beyond, missed := 0, 0, 0, 0
	for n := range 40 {
		run := c.Rig(*first+7300, n).Play()
		if run.Err != nil {
			t.Fatal(run.Err)
		}
		for i := range run.Lamps {
			l := &run.Lamps[i]
			if !l.Reachable {
				continue
			}
			lamps++
			if accusation(l.Outcome) == "sets itself" {
				accused++
			}
			if !l.Outcome.Landed() {
				missed++
			} else if l.Beyond() {
				beyond++
			}
		}
	}
	t.Logf("of %d lamps %d are said to set themselves, %d are not landed, %d beyond 1.5 tolerances", lamps, accused, missed, beyond)
	if 100*accused > lamps || 50*missed > lamps || 100*beyond > lamps {
		t.Errorf("of %d lamps %d are said to set themselves, %d are not landed, %d beyond 1.5 tolerances", lamps, accused, missed, beyond)
	}
}
