package core

import (
	"testing"
	"time"
)

// Background and a reference at a probe of its own are read in one darkness, meter by meter in turn: neither is
// waited for after the other.
func TestBackgroundAndReferenceShareOneDarkness(t *testing.T) {
	b := newBench(t, 1, nil)
	var probes []string
	b.ended(nil)
	for _, e := range b.log {
		if e.Event != nil && e.Event.Kind == Read && e.Event.Reading != nil {
			probes = append(probes, e.Event.Reading.Probe)
		}
	}
	turns := 0
	for i := 1; i < 2*firstDark && i < len(probes); i++ {
		if probes[i] != probes[i-1] {
			turns++
		}
	}
	if turns < 2*firstDark-1 {
		t.Errorf("the first readings were of %v: each meter should have been asked in its turn", probes[:min(len(probes), 2*firstDark)])
	}
}

// A look at the dark in the middle of a visit takes the reference along where its meter keeps pace, and only there: nobody waits for it.
func TestALookAtTheDarkTakesTheReferenceAlong(t *testing.T) {
	b := newBench(t, 1, nil)
	b.ended(nil)
	probe, own := "", b.c.find(b.c.cfg.Plan.Target.Reference).Info.Probe
	b.c.each(func(u *unit) { probe = u.Info.Probe })
	if _, along := b.c.look(probe).(*darkRound); !along {
		t.Errorf("the reference is left out of a look, beside meters of one pace")
	}
	b.c.paces[own].least = time.Minute
	if _, alone := b.c.look(probe).(*backgrounds); !alone {
		t.Errorf("a look waits for a reference whose meter is slower")
	}
}

// A reference that is as it was is read twice more in each later darkness, and not again after the dark is known.
func TestAReferenceAsItWasIsReadTwiceMore(t *testing.T) {
	b := newBench(t, 1, nil)
	b.ended(nil)
	passes, n := []int{}, 0
	for _, e := range b.log {
		switch {
		case e.Kind == KindReading && e.Fixture == b.c.units[0].Info.Name:
			n++
		case e.Kind == KindReference:
			passes, n = append(passes, n), 0
		}
	}
	if len(passes) < 2 || passes[0] < b.c.cfg.Plan.ReferenceReadings {
		t.Fatalf("the reference was read %v times", passes)
	}
	for _, n := range passes[1:] {
		if n != 2 {
			t.Errorf("the reference was read %v times", passes)
		}
	}
}
