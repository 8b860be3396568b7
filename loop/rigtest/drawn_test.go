package rigtest

import "testing"

// drawn plays rigs of scenes that are each drawn by a number, and counts the lamps of those that end in order. It logs which lamps are claimed falsely, and
// which sound ones are said to be at fault, with the words of their scene.
func drawn(t *testing.T, draw func(n int) (Class, []string), from, rigs int) *counts {
	t.Helper()
	all := &counts{as: map[string]int{}, refusable: true, soundLand: true}
	for n := from; n < from+rigs; n++ {
		c, words := draw(n)
		run := c.Rig(uint64(n), 0).Play()
		if run.Err != nil {
			t.Errorf("%s (%d lamps, %d probes, %v): %v", c.Name, c.Lamps, c.Probes, words, run.Err)
			continue
		}
		for i := range run.Lamps {
			l := &run.Lamps[i]
			all.add(l)
			if all.accuses(l) {
				t.Logf("%s (%d lamps, %d probes, %v): %s is said to be at fault: %s", c.Name, c.Lamps, c.Probes, words, l.Name, l.Outcome.Reason)
			}
			if l.Beyond() {
				t.Logf("%s (%d lamps, %d probes, %v): %s is claimed landed, %.4f off", c.Name, c.Lamps, c.Probes, words, l.Name, l.Error())
			}
		}
	}
	pc := func(n, of int) float64 { return 100 * share(n, of) }
	t.Logf("%d rigs, %d landed: %.1f %% inside, %.2f %% beyond 1.5 times the tolerance; of %d lamps in reach that are not spoilt %.1f %% not landed; of %d sound ones %.2f %% are said to be at fault",
		rigs, all.landed, pc(all.inside, all.landed), pc(all.beyond, all.landed), all.reachable, pc(all.missed, all.reachable), all.sound, pc(all.accused, all.sound))
	return all
}
