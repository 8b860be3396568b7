package core

import (
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
)

// atProbes has lamps of a dark room at so many probes, by turns.
func atProbes(n int) func(*Config) {
	return func(c *Config) {
		for i := range c.Units[1:] {
			c.Units[i+1].Info.Probe = []string{"left", "right", "back"}[i%n]
		}
	}
}

// darkBench is a bench in a room that is as good as dark.
func darkBench(t *testing.T, lamps, probes int) *bench {
	b := newBench(t, lamps, atProbes(probes))
	b.p.ambient = 0.001
	return b
}

// answerBeside answers what is asked for beside a lamp first, as meters do that run by themselves, and then as until does.
func (b *bench) answerBeside(what string, done func() bool) {
	b.t.Helper()
	b.until(what, func() bool {
		for !done() {
			i := slices.IndexFunc(b.p.asks, func(a Ask) bool { return a.ID >= besideAsk })
			if i < 0 || len(b.p.wished) > 0 {
				return false
			}
			a := b.p.asks[i]
			b.p.asks = slices.Delete(b.p.asks, i, i+1)
			r := b.p.reading(a)
			b.read(a, r)
			b.tell(Event{Kind: Read, Ask: a.ID, Reading: r})
		}
		return true
	})
}

// jumped are the notes of a run that say so of a background.
func (b *bench) jumped() (n int) {
	for _, e := range b.log {
		if e.Kind == KindDrift && strings.Contains(e.Note, "jumped") {
			n++
		}
	}
	return n
}

// A light that somebody puts on before a lamp is read, and out again before the dark is looked at next, is seen at the probe that was left while the next lamp is
// read at another one. Where all lamps are at one probe nobody sees it.
func TestALightIsSeenAtTheProbeThatWasLeft(t *testing.T) {
	for probes, want := range map[int]bool{2: true, 1: false} {
		b := darkBench(t, 4, probes)
		var on, off time.Duration
		b.read = func(a Ask, r *Reading) {
			if a.Probe != "left" || on == 0 || r.At < on || r.At > off {
				return
			}
			sum := r.XYZ().Add(colorcalc.UV{U: 0.26, V: 0.53}.XYZ(6))
			r.UV, r.Y = sum.UV(), sum.Y
		}
		b.tell(Event{Kind: Begin})
		b.answerBeside("the first lamp is lit", func() bool { return len(b.p.stands[0]) > 0 && b.p.own(0).Y > 0 })
		on, off = b.p.now, b.p.now+12*time.Second
		b.answerBeside("the end", b.over)
		if seen := b.jumped() > 0; seen != want {
			t.Errorf("lamps at %d probes: seen %v, want %v", probes, seen, want)
		}
	}
}

// Lamps that throw light on other probes are not taken for somebody's: at three probes the first lamp shows it and no look at the dark is wasted, at two
// one look is, and then no probe is read beside a lamp.
func TestALampsOwnLightAtOtherProbesIsNotSomebodys(t *testing.T) {
	looks := func(probes int, spill float64) (n int, strayed bool) {
		b := darkBench(t, 6, probes)
		b.p.spill = spill
		b.tell(Event{Kind: Begin})
		b.answerBeside("the end", b.over)
		if b.d.Err != nil || b.jumped() > 0 {
			t.Errorf("%d probes: %v, %d jumps", probes, b.d.Err, b.jumped())
		}
		for _, e := range b.log {
			if e.Kind == KindDrift && e.Reading != nil {
				n++
			}
		}
		return n, b.c.strayed
	}
	for probes, wasted := range map[int]int{3: 0, 2: 1} {
		clean, strayed := looks(probes, 0)
		if strayed {
			t.Errorf("%d probes: lamps are said to stray", probes)
		}
		if n, strayed := looks(probes, 0.05); !strayed || n > clean+wasted {
			t.Errorf("%d probes: strayed %v, %d looks at the dark, %d where no lamp strays", probes, strayed, n, clean)
		}
	}
}

// A meter that does not answer while another is read ends no run: it is not asked so again.
func TestAMeterThatIsSilentBesideALampIsLeft(t *testing.T) {
	b := darkBench(t, 4, 2)
	silent := 0
	b.tell(Event{Kind: Begin})
	for !b.over() {
		if i := slices.IndexFunc(b.p.asks, func(a Ask) bool { return a.ID >= besideAsk }); i >= 0 {
			id := b.p.asks[i].ID
			b.p.asks = slices.Delete(b.p.asks, i, i+1)
			silent++
			b.tell(Event{Kind: NoReading, Ask: id, Why: "silence"})
			continue
		}
		b.answer()
	}
	if b.d.Err != nil || silent == 0 || silent > 2 {
		t.Errorf("the run ended with %v after %d silent asks", b.d.Err, silent)
	}
}
