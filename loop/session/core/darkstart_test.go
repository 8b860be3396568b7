package core

import (
	"testing"
	"time"
)

// Lamps that had been sent dark before the run began are dark when it begins: nobody waits for them again, but for what takes longer to go.
func TestNobodyWaitsForLampsThatWereSentDarkBeforeTheRun(t *testing.T) {
	for _, x := range []struct {
		shown, settle time.Duration
		waits         bool
	}{
		{0, 350 * time.Millisecond, true}, // nobody knows since when they are dark
		{1700 * time.Millisecond, 350 * time.Millisecond, false},
		{1700 * time.Millisecond, 3 * time.Second, true},
	} {
		b := newBench(t, 3, func(cfg *Config) {
			cfg.StartShown = x.shown
			for i := range cfg.Units {
				if u := &cfg.Units[i]; u.Head >= 0 {
					u.Settle = x.settle
				}
			}
		})
		b.fade = 20 * time.Millisecond
		b.tell(Event{Kind: Begin})
		for len(b.p.asks) == 0 {
			b.answer()
		}
		after, stood := b.p.asks[0].After, b.p.now
		if waits := after > stood; waits != x.waits {
			t.Errorf("dark for %v before the run, dead time %v: the first look begins %v after all stand", x.shown, x.settle, after-stood)
		}
	}
}

// A lamp that the start lights is no dark one, however long it was sent.
func TestALampThatTheStartLightsIsNotTakenForDark(t *testing.T) {
	b := newBench(t, 3, func(cfg *Config) {
		cfg.StartShown = 1700 * time.Millisecond
		cfg.Units[2].Rest = cfg.Units[2].Lit
	})
	for i, want := range []time.Duration{0, -1700 * time.Millisecond, 0, -1700 * time.Millisecond} {
		if got := b.c.units[i].outAt; got != want {
			t.Errorf("%s is taken to be out since %v, want %v", b.c.units[i].Info.Name, got, want)
		}
	}
}
