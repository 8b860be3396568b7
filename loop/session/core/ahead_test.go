package core

import (
	"slices"
	"strings"
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

// A lamp that is skipped or refused before it was read where its last step led has no figure there: the reading that the
// run has of it is of another setting. What it is left at is where it would have been lit, not the dark.
func TestALampLeftBeforeItsLastStepIsReadHasNoFigureThere(t *testing.T) {
	for _, how := range []string{"skipped in the dark", "skipped where it stands", "refused"} {
		b := newBench(t, 4, func(c *Config) { c.Units = dimmed(4) })
		b.tell(Event{Kind: Begin})
		u, met := b.c.find("wash 1"), false
		var first *Outcome
		for !b.c.Over() {
			v, ok := b.c.main.task.(*secondVisit)
			switch {
			case met || !ok || v.u != u || v.match == nil:
				b.answer()
				continue
			case first == nil:
				first = u.outcome
			}
			switch {
			case how == "skipped in the dark", how == "skipped where it stands" && v.again.stands != nil:
				met = true
				b.tell(Event{Kind: Skip})
			case how == "refused" && b.p.wished[u.Head] != nil && b.p.wished[u.Head][3] > 0:
				met = true
				delete(b.p.wished, u.Head)
				b.tell(Event{Kind: Refused, Head: u.Head, Why: "slot locked"})
			default:
				b.answer()
			}
		}
		if o := b.outcome("wash 1"); first.Result != solve.Predicted || o.Result != solve.Held || o.Final != nil || !slices.Equal(o.After.Codes, first.After.Codes) {
			t.Errorf("%s: at first %+v, at the end %+v, final %+v, left at %v", how, first, o, o.Final, o.After)
		}
	}
}

// A run that is stopped after the first reading of a second visit does not say that the lamp was never read.
func TestAStopAfterAReadingDoesNotSayNeverRead(t *testing.T) {
	b := newBench(t, 4, func(c *Config) { c.Units = dimmed(4) })
	b.tell(Event{Kind: Begin})
	b.until("a step is read", func() bool {
		v, ok := b.c.main.task.(*secondVisit)
		return ok && v.match != nil && v.again.left <= 0 && v.u.outcome.Result == solve.Predicted
	})
	name := b.c.main.task.unit().Info.Name
	b.tell(Event{Kind: Stop, Why: "a person"})
	if o := b.outcome(name); o.Result != solve.Predicted || o.Readings != 2 || strings.Contains(o.Reason, "not read yet") {
		t.Errorf("%s: %+v", name, o)
	}
}
