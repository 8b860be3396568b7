package core

import (
	"testing"

	"trueup/loop"
	"trueup/loop/solve"
)

// A unit that is to be held while its level has leapt is read again, and not for ever where nobody can look at the dark.
func TestAUnitWhoseLevelHasLeaptIsHeldInTheEnd(t *testing.T) {
	b := newBench(t, 1, nil)
	u := b.c.units[1]
	u.tally.kept, u.leap = leastKept, leap{by: 1}
	m := &matching{visit: &loop.Visit{Final: solve.Decision{Outcome: solve.Held}}, doubted: true}
	read := 0
	for ; read < 100; read++ {
		if w := m.next(b.c, u, loop.Next{Done: true}); w.next {
			break
		} else if w.read == nil {
			t.Fatalf("it wants %+v", w)
		}
	}
	if read == 0 || read > mostLeapt {
		t.Errorf("it was read %d times more", read)
	}
}
