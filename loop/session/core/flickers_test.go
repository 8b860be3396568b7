package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// One dim lamp, as one in another mode is, does not decide that the lamps which nobody has read are too dim beside a light that changes all the time. Three do.
func TestOneDimLampDoesNotGiveUpTheOthers(t *testing.T) {
	b := newBench(t, 6, func(c *Config) {
		for i := range c.Units[1:] {
			c.Units[i+1].Info.Probe = "left"
		}
	})
	b.tell(Event{Kind: Begin})
	b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
	d := b.c.background["left"]
	for k := range 4 {
		d.jumps = append(d.jumps, scene.Jump{At: time.Duration(k) * time.Second, By: colorcalc.UV{U: 0.2, V: 0.46}.XYZ(18)})
	}
	unread := b.c.units[len(b.c.units)-1]
	for read, want := range []bool{false, false, false, true} {
		if read > 0 {
			b.c.units[read].own = window.XYZ(20)
		}
		d.light = window.XYZ(20)
		if got := d.harms(b.c, unread); got != want {
			t.Errorf("%d dim lamps were read: one that was not is given up: %v", read, got)
		}
	}
}

// A television of some lux takes no bright lamp out of a match: what it does goes into the doubt of all its readings, and it is refused only where no number of readings
// carries the tolerance beside that. Where a level is asked for, it is refused for that as well.
func TestALightThatHardlyMovesALampLeavesIt(t *testing.T) {
	warm, screen := colorcalc.UV{U: 0.24, V: 0.52}, colorcalc.UV{U: 0.2, V: 0.44}
	for what, x := range map[string]struct {
		common    CommonLevel
		tol       float64
		lamp, lux float64
		by        colorcalc.UV
		want      bool
	}{
		"3 lux beside 190":                 {NoCommon, 0.0030, 190, 2.9, screen, false},
		"3 lux beside 40":                  {NoCommon, 0.0030, 40, 2.9, screen, true},
		"4 lux beside 390":                 {NoCommon, 0.0020, 390, 4, screen, false},
		"of the lamps' colour":             {NoCommon, 0.0030, 100, 6, warm, false},
		"of the lamps' colour, with level": {CommonEqual, 0.0030, 100, 6, warm, true},
	} {
		b := newBench(t, 2, func(c *Config) {
			c.Plan.Common, c.Plan.Tolerance, c.Plan.Target = x.common, x.tol, Target{UV: warm}
			c.Units[1].Info.Probe = "left"
		})
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
		d, u := b.c.background["left"], b.c.units[1]
		for k := range 3 {
			by := x.by.XYZ(x.lux)
			if k%2 > 0 {
				by = by.Scale(-1)
			}
			d.jumps = append(d.jumps, scene.Jump{At: time.Duration(20*k) * time.Second, By: by})
		}
		u.own = warm.XYZ(x.lamp)
		d.light = u.own
		if got := d.harms(b.c, u); got != x.want {
			t.Errorf("%s: refused %v, want %v", what, got, x.want)
		}
		if from := d.harmlessFrom(b.c); (from > x.lamp) != x.want {
			t.Errorf("%s: it is said that %.3g lux would do, refused %v", what, from, x.want)
		}
	}
}

// A claim of a lamp that was read while a light was on is put to the mean of what that light does, once it is known to change all the time: by the state that it had at a
// look at the dark it would be half of its change off, and as sure as one that is not.
func TestAClaimIsPutToTheMeanOfALightThatChanges(t *testing.T) {
	lamp, off := colorcalc.UV{U: 0.24, V: 0.52}.XYZ(200), colorcalc.UV{U: 0.2, V: 0.46}.XYZ(4)
	on := off.Scale(2)
	k := &claim{uv: lamp.UV(), light: lamp, under: off, sd: 0.0001}
	k.takesOff(on.Add(off).Scale(0.5), 0.0006)
	if want := lamp.Sub(off.Scale(0.5)); k.uv.Dist(want.UV()) > 1e-9 || k.share != 0.0006 || k.under.Y != 1.5*off.Y {
		t.Errorf("it is %v beside %.2f lux with a share of %.4f, want %v", k.uv, k.under.Y, k.share, want.UV())
	}
}

// A light that goes on and off moves a lamp by half of its change at the most: where that leaves the readings a part of the tolerance the lamp is read on, and its share is no more than
// that takes. One that goes anywhere is taken to go farther than it was seen to. Held against a bell curve of the same spread a lamp was refused from .58 of the tolerance on, and
// from less after few changes.
func TestALightThatGoesNoFartherRefusesOnlyWhatItMovesTooFar(t *testing.T) {
	warm, screen := colorcalc.UV{U: 0.24, V: 0.52}, colorcalc.UV{U: 0.2, V: 0.44}
	for what, x := range map[string]struct {
		lux  []float64 // of its lights
		lamp float64
		want bool
	}{
		"on and off":              {[]float64{0.5, 4, 0.5, 4}, 190, false},
		"on for longer":           {[]float64{0.5, 4, 4, 4, 0.5, 4}, 150, false},
		"on and off, too much":    {[]float64{0.5, 4, 0.5, 4}, 60, true},
		"anywhere in between":     {[]float64{0.5, 4, 1.5, 3}, 90, true},
		"and beside a strong one": {[]float64{0.5, 4, 1.5, 3}, 200, false},
	} {
		b := newBench(t, 2, func(c *Config) {
			c.Plan.Tolerance, c.Plan.Target = 0.0020, Target{UV: warm}
			c.Units[1].Info.Probe = "left"
		})
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.ref != nil })
		d, u := b.c.background["left"], b.c.units[1]
		var lit []Reading
		for k, y := range x.lux {
			for range 4 {
				lit = append(lit, Reading{UV: screen, Y: y, HasY: true, At: time.Duration(k) * time.Second})
			}
		}
		b.c.changesAlways(d, lit, len(x.lux)-1, b.c.now)
		d.blinks = "blinks"
		u.own = warm.XYZ(x.lamp)
		d.light = u.own
		if got := d.harms(b.c, u); got != x.want {
			t.Errorf("%s: refused %v, want %v; a share of %.5f, at the most %.5f", what, got, x.want, d.flickers(b.c.ref, u.own), b.c.mostShared(d, u.own.Y))
		}
	}
}
