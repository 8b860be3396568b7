package core

import (
	"math"
	"slices"
	"testing"

	"trueup/colorcalc"
)

// Of lamps that were lit together none is taken to throw less than their average, nor more than twice that, and two or one
// throw all that was read. What other lanes may have thrown is blamed on each lane.
func TestWhatLampsThrowTogetherIsSharedOut(t *testing.T) {
	b := newBench(t, 12, fourProbes)
	lit := map[*unit]bool{}
	for i, u := range b.c.units[1:] {
		if i%4 == 0 || i == 1 { // three at the left probe, one at the right
			lit[u] = true
		}
	}
	white := colorcalc.UV{U: 0.2, V: 0.48}
	b.c.shareOut(lit, "back", white.XYZ(6))
	for u := range lit {
		want := 4.0
		if u.Info.Probe == "right" {
			want = 6
		}
		if got := b.c.spill[u.Info.Name]["back"].Y; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s at probe %s: %g lux, want %g", u.Info.Name, u.Info.Probe, got, want)
		}
	}
	b.c.shareOut(lit, "back", white.XYZ(9)) // a later look that leaves more room says nothing new
	for u := range lit {
		if got := b.c.spill[u.Info.Name]["back"].Y; got > 6 {
			t.Errorf("%s: %g lux after a look that leaves more room", u.Info.Name, got)
		}
	}
}

// A lamp that was found dim is looked at where its match will light it: it throws more light there.
func TestADimLampIsSurveyedWhereItWillWork(t *testing.T) {
	b := newBench(t, 4, func(c *Config) {
		c.Plan.Lanes = 2
		for i := range c.Units[1:] {
			u := &c.Units[i+1]
			u.Found = make([]uint32, len(u.Rest))
			for k := range u.Found {
				u.Found[k] = 2000
			}
		}
	})
	b.tell(Event{Kind: Begin})
	b.until("lamps come up for the survey", func() bool {
		_, survey := b.c.main.task.(*lighting)
		return survey && len(b.p.wished) > 0
	})
	for head, d := range b.p.wished {
		if m := slices.Max(d); m <= 2000 {
			t.Errorf("head %d is lit at %v, as it was found", head, d)
		}
	}
}
