package rigtest

import (
	"os"
	"testing"
	"time"
)

// Where people, faults, odd lamps and odd meters come to several harsh things, every run ends, next to no lamp is claimed falsely, and few of those that
// could be matched are given up: in rooms where a light is switched all the time, or as bright as the lamps.
func TestLivingRigs(t *testing.T) {
	rigs, lost, blamed := 40, 12.0, 2.0 // of forty rigs one or two in rooms where next to nothing can be matched count for much
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs, lost, blamed = 200, 6, 1
	}
	n := drawn(t, Living, int(*first)-1, rigs)
	missed, accused := 100*share(n.missed, n.reachable), 100*share(n.accused, n.sound)
	if 100*share(n.inside, n.landed) < 96 || 100*share(n.beyond, n.landed) > 0.6 || missed > lost || accused > blamed {
		t.Errorf("want at least 96 %% inside, at most 0.6 %% beyond, %g %% not landed and %g %% at fault", lost, blamed)
	}
}

// Where the reference stands beside lamps, and a light there is switched all the time, looks at the one and the other must leave time for the lamps: these runs
// went round between them for hours.
func TestLooksLeaveTimeForTheLamps(t *testing.T) {
	for _, n := range []int{50121, 50343, 60095, 60303} {
		c, words := Living(n)
		run := c.Rig(uint64(n), 0).Play()
		if run.Err != nil {
			t.Errorf("living %d (%v): %v", n, words, run.Err)
			continue
		}
		if most := 20 * time.Minute; run.Seconds > most.Seconds() {
			t.Errorf("living %d (%v): %.0f s", n, words, run.Seconds)
		}
		for i := range run.Lamps {
			if l := &run.Lamps[i]; l.Reachable && !l.Spoilt && !l.Outcome.Landed() {
				t.Errorf("living %d (%v): %s: %s", n, words, l.Name, l.Outcome.Reason)
			}
		}
	}
}
