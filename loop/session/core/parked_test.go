package core

import "testing"

// A lane stands still for the dark while its lamp has been read and is to take its next step. The dark shows that the background has jumped: what was
// read before that does not count, as where the lane wanted a reading.
func TestAVisitThatStandsStillBeforeAStepIsBegunAnewAfterAJump(t *testing.T) {
	b := newBench(t, 8, func(c *Config) { fourProbes(c); c.Plan.SecondVisit = false })
	b.p.ambient = 5
	b.tell(Event{Kind: Begin})
	var parked *lane
	b.until("a lamp that was read", func() bool {
		for _, l := range b.c.lanes {
			if u := l.lit; u != nil && l.asked != 0 && len(u.given) == 0 && u.tally.visited && len(l.moving) == 0 {
				if _, ok := l.task.(*firstVisit); ok {
					parked = l
				}
			}
		}
		return parked != nil
	})
	u := parked.lit
	b.c.halting = true // another lane asks for the dark
	b.until("the lane that stands still", func() bool { return parked.parked || len(parked.kept) > 0 })
	w := parked.waiting()
	if len(u.given) == 0 || w == nil || w.want.set == nil {
		t.Fatalf("%s was given %d readings, and its lane waits for %+v: want some, and a step", u.Info.Name, len(u.given), w)
	}
	b.p.ambient = 60
	b.until("the dark", func() bool { d := b.c.background[u.Info.Probe]; return d != nil && d.Mean().Y > 50 })
	if !w.anew {
		t.Errorf("%s goes on with what was read before the background jumped", u.Info.Name)
	}
	b.until("the end", b.over)
	if !u.outcome.Landed() {
		t.Errorf("%s: %+v", u.Info.Name, u.outcome)
	}
}
