package core

import (
	"errors"
	"slices"
	"testing"

	"trueup/loop/solve"
)

// A look is put back and held until a person ends it; a lamp that does not take its
// setting is named, and the others stand all the same.
func TestALookIsPutBackAndHeld(t *testing.T) {
	look := map[int]solve.Drive{0: {100, 200, 300}, 1: {4, 5, 6}, 2: {7, 8, 9}}
	var cfg Config
	b := newBench(t, 3, func(c *Config) {
		c.Work = Recall
		for i, u := range c.Units[1:] {
			c.Previous = append(c.Previous, Standing{Fixture: u.Info.Name, Result: solve.Landed, Codes: look[i]})
		}
		cfg = *c
	})
	cfg.Plan.Target.Reference = "window"
	b.tell(Event{Kind: Begin})
	if len(b.d.Wishes) != 3 {
		t.Fatalf("%d lamps are set at once, want 3", len(b.d.Wishes))
	}
	delete(b.p.wished, 1)
	b.tell(Event{Kind: Refused, Head: 1, Why: "it is locked"})
	b.until("the look stands", func() bool { return slices.ContainsFunc(b.log, func(e Entry) bool { return e.Kind == KindLevel }) })
	for range 100 {
		b.answer()
	}
	if b.c.Over() || len(b.p.asks) > 0 {
		t.Fatal("it is not held, or something is read")
	}
	for h, want := range look {
		if got := b.p.stands[h]; h != 1 && !slices.Equal(got, want) {
			t.Errorf("head %d stands at %v, want %v", h, got, want)
		}
	}
	if o := b.outcome("wash 1"); o.Result != solve.Held || o.Reason != "it is locked" {
		t.Errorf("%+v", o)
	}
	b.tell(Event{Kind: Stop, Why: "Ctrl-C"})
	if !errors.Is(b.d.Err, ErrStopped) {
		t.Error(b.d.Err)
	}
	if _, err := Replay(journalOf(t, b, cfg)); err != nil {
		t.Error(err)
	}
	if b := newBench(t, 1, func(c *Config) { c.Work = Recall }); true {
		b.tell(Event{Kind: Begin})
		b.holds("nothing", b.d.Err.Error(), "nothing to recall")
	}
}
