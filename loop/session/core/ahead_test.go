package core

import (
	"slices"
	"testing"
	"time"

	"trueup/loop/solve"
)

// A first visit leaves a last step to the second: the lamp takes its colour while it goes dark, is lit next where the
// step leads, and nothing is claimed of it before it was read there.
func TestALastStepIsTakenInTheDarkAndReadOnTheSecondVisit(t *testing.T) {
	b := newBench(t, 4, func(c *Config) { c.Units = dimmed(4) })
	b.fade = 200 * time.Millisecond
	stepped := map[int]solve.Drive{} // by head: where the next visit has to light it
	seen, read := 0, map[string]int{}
	b.tell(Event{Kind: Begin})
	for !b.c.Over() {
		for _, e := range b.log[seen:] {
			switch {
			case e.Kind == KindReading && e.Fixture != "":
				read[e.Fixture]++
			case e.Kind == KindOutcome && e.Outcome.Result == solve.Predicted:
				u := b.c.find(e.Fixture)
				stepped[u.Head] = e.Outcome.After.Codes
				if slices.Equal(u.at.Sent, e.Outcome.After.Codes) {
					t.Errorf("%s stands lit where nobody reads it", e.Fixture)
				}
			case e.Kind == KindVerify && e.Outcome.Landed() && read[e.Fixture] == 0:
				t.Errorf("%s landed unread: %+v", e.Fixture, e.Outcome)
			}
		}
		seen = len(b.log)
		for _, w := range b.d.Wishes {
			d := stepped[w.Head]
			switch {
			case d == nil:
			case w.Codes[3] == 0 && !slices.Equal(w.Codes[:3], d[:3]):
				t.Errorf("head %d goes dark as %v, and is lit next at %v", w.Head, w.Codes, d)
			case w.Codes[3] > 0:
				if !slices.Equal(w.Codes, d) {
					t.Errorf("head %d is lit at %v, the step led to %v", w.Head, w.Codes, d)
				}
				delete(stepped, w.Head)
				read[b.p.units[w.Head+1].Info.Name] = 0
			}
		}
		b.answer()
	}
	if len(stepped) > 0 || len(read) == 0 {
		t.Errorf("never lit again: %v, readings %v", stepped, read)
	}
}
