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
	var landed, inside, beyond, reachable, missed, sound, accused int
	for k := range rigs {
		n := int(*first) - 1 + k
		c, words := Living(n)
		run := c.Rig(uint64(n), 0).Play()
		if run.Err != nil {
			t.Errorf("living %d (%d lamps, %d probes, %v): %v", n, c.Lamps, c.Probes, words, run.Err)
			continue
		}
		for i := range run.Lamps {
			l := &run.Lamps[i]
			ok := l.Outcome.Landed()
			if a := accusation(l.Outcome); !l.Spoilt {
				if sound++; a != "" && a != nothingClaimed {
					accused++
					t.Logf("living %d (%d lamps, %d probes, %v): %s is said to be at fault: %s", n, c.Lamps, c.Probes, words, l.Name, l.Outcome.Reason)
				}
			}
			if l.Reachable && !l.Spoilt {
				if reachable++; !ok {
					missed++
				}
			}
			if !ok {
				continue
			}
			if landed++; l.Error() <= tolerance {
				inside++
			}
			if l.Error() > 1.5*tolerance {
				beyond++
				t.Logf("living %d (%d lamps, %d probes, %v): %s is claimed landed, %.4f off", n, c.Lamps, c.Probes, words, l.Name, l.Error())
			}
		}
	}
	pc := func(n, of int) float64 { return 100 * float64(n) / float64(of) }
	t.Logf("%d rigs, %d landed: %.1f %% inside, %.2f %% beyond 1.5 times the tolerance; of %d sound lamps in reach %.1f %% not landed; of %d sound ones %.2f %% are said to be at fault",
		rigs, landed, pc(inside, landed), pc(beyond, landed), reachable, pc(missed, reachable), sound, pc(accused, sound))
	if pc(inside, landed) < 96 || pc(beyond, landed) > 0.6 || pc(missed, reachable) > lost || pc(accused, sound) > blamed {
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
