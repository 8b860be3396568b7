package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// A lamp that glows on when the dark is read is told from a light that is switched off, from one that blinks, and from a sky: its fall lessens, and what is left
// stands. The readings from there on are the dark.
func TestAGlowInTheDarkIsNotTheDark(t *testing.T) {
	room := colorcalc.UV{U: 0.195, V: 0.476}
	lamp := &unit{Unit: &Unit{Info: FixtureInfo{Probe: "mark"}}, outAt: 9500 * time.Millisecond, settle: 100 * time.Millisecond, own: room.XYZ(500)}
	c := &Core{cfg: Config{Plan: DefaultPlan()}, ref: &Reference{UV: colorcalc.UV{U: 0.22, V: 0.495}}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}},
		units: []*unit{lamp}}
	d := &dark{Background: scene.NewBackground(room.XYZ(840), 5, c.meter(""), 0), light: c.ref.UV.XYZ(500)}
	for what, x := range map[string]struct {
		light func(s float64) float64 // lux
		many  int
		rest  int // readings that are the dark
		more  bool
	}{
		"a glow":                     {func(s float64) float64 { return 840 + 260*math.Exp(-s) }, 24, 8, false},
		"a glow, not over":           {func(s float64) float64 { return 840 + 260*math.Exp(-s) }, 6, 0, true},
		"two readings of it":         {func(s float64) float64 { return 840 + 260*math.Exp(-s/0.2) }, 8, 8, false},
		"nothing":                    {func(float64) float64 { return 840 }, 8, 8, false},
		"a light that is put out":    {func(s float64) float64 { return 840 + 260*math.Max(0, math.Copysign(1, 1-s)) }, 8, 8, false},
		"a light that goes on again": {func(s float64) float64 { return 840 + 260*math.Abs(math.Sin(3*s)) }, 12, 12, false},
		"a sky":                      {func(s float64) float64 { return 840 - 30*s }, 9, 9, false},
		"a sky, at first":            {func(s float64) float64 { return 840 - 30*s }, 6, 6, true},
	} {
		var got []Reading
		for k := range x.many {
			s := 0.3 * float64(k)
			got = append(got, Reading{UV: room, Y: x.light(s), HasY: true, At: 10*time.Second + time.Duration(s*1e9)})
		}
		rest, more := c.standing("mark", d, got)
		if more != x.more || !more && (len(rest) < min(x.rest, x.many) || x.rest < x.many && len(rest) > x.rest+6) {
			t.Errorf("%s: %d of %d readings are the dark, want some %d; more %v, want %v", what, len(rest), x.many, x.rest, more, x.more)
		}
		if last := len(rest) - 1; !more && what == "a glow" && math.Abs(rest[0].Y-rest[last].Y) > 0.02*840 {
			t.Errorf("%s: the dark is read from %.1f lux on to %.1f", what, rest[0].Y, rest[last].Y)
		}
	}
}

// A lamp that is known to be slow has a little of its light left when it is taken to be dark: the dark is read until that is gone. Beside a lamp that is not, it is
// read for no longer because so little falls.
func TestTheLastOfASlowLampsLightIsNotTheDark(t *testing.T) {
	room := colorcalc.UV{U: 0.195, V: 0.476}
	for settle, slow := range map[time.Duration]bool{2 * time.Second: true, 300 * time.Millisecond: false} {
		lamp := &unit{Unit: &Unit{Info: FixtureInfo{Probe: "mark"}}, outAt: 10*time.Second - settle, settle: settle, own: room.XYZ(260)}
		c := &Core{cfg: Config{Plan: DefaultPlan()}, ref: &Reference{UV: colorcalc.UV{U: 0.22, V: 0.495}}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 4.9e-5, dofY: 1e4}},
			units: []*unit{lamp}}
		d := &dark{Background: scene.NewBackground(room.XYZ(49), 5, c.meter(""), 0), light: c.ref.UV.XYZ(260)}
		noise := []float64{0.2, -0.3, 0.1, 0.4, -0.2, 0.3, -0.4, 0.1, 0.2, -0.1, 0.3, 0}
		var got []Reading
		for k, by := range noise {
			s := 0.3 * float64(k+1)
			got = append(got, Reading{UV: room, Y: 49 + 12*math.Exp(-s/0.6) + by, HasY: true, At: 10*time.Second + time.Duration(s*1e9)})
		}
		if _, more := c.standing("mark", d, got[:3]); more != slow {
			t.Errorf("dead time %v: more than three falling readings are wanted: %v", settle, more)
		}
		rest, more := c.standing("mark", d, got)
		if gone := len(rest) < len(got); more || slow && !gone {
			t.Errorf("dead time %v: %d of %d readings are the dark", settle, len(rest), len(got))
		}
		if y := median(levels(rest)); slow && math.Abs(y-49) > 0.6 {
			t.Errorf("the dark is %.1f lux", y)
		}
	}
}

// What falls ever less when a lamp of the probe has just gone out is its glow, though it has another colour than the lamp was last read in, as it was being moved, or nobody has
// read it yet. What it falls to may be the dark that was known or another. Long after a lamp went out it is none.
func TestAGlowMayBeOfAnyColourAndFallToAnotherDark(t *testing.T) {
	room, blue := colorcalc.UV{U: 0.217, V: 0.486}, colorcalc.UV{U: 0.17, V: 0.33}
	for what, x := range map[string]struct {
		out  time.Duration // since the lamp went out
		ends float64       // lux
		read bool          // the lamp was
		glow bool
	}{
		"to the dark":                   {500 * time.Millisecond, 145, true, true},
		"to another":                    {500 * time.Millisecond, 130, true, true},
		"to another, of an unread lamp": {500 * time.Millisecond, 130, false, true},
		"long after it is out":          {5 * time.Second, 145, true, false},
	} {
		lamp := &unit{Unit: &Unit{Info: FixtureInfo{Probe: "mark"}}, outAt: 10*time.Second - x.out, settle: 100 * time.Millisecond, own: colorcalc.UV{U: 0.23, V: 0.51}.XYZ(400)}
		c := &Core{cfg: Config{Plan: DefaultPlan()}, ref: &Reference{UV: lamp.own.UV()}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}},
			units: []*unit{lamp}}
		d := &dark{Background: scene.NewBackground(room.XYZ(145), 5, c.meter(""), 0), light: lamp.own}
		if !x.read {
			lamp.own = colorcalc.XYZ{}
		}
		var got []Reading
		for k := range 24 {
			s := 0.3 * float64(k)
			light := room.XYZ(x.ends).Add(blue.XYZ(50 * math.Exp(-s/0.8)))
			got = append(got, Reading{UV: light.UV(), Y: light.Y, HasY: true, At: 10*time.Second + time.Duration(s*1e9)})
		}
		if rest, more := c.standing("mark", d, got); more || (len(rest) < len(got)) != x.glow {
			t.Errorf("%s: %d of %d readings are the dark, more %v", what, len(rest), len(got), more)
		} else if y := rest[0].Y; x.glow && math.Abs(y-x.ends) > 0.03*x.ends {
			t.Errorf("%s: the dark is read from %.1f lux on", what, y)
		}
	}
}

// A lamp whose glow is seen in the dark after it is waited for as long; that of another lamp, which went out elsewhere, or before, is not its own.
func TestALampWhoseGlowIsSeenIsWaitedFor(t *testing.T) {
	own := colorcalc.UV{U: 0.22, V: 0.49}
	for what, x := range map[string]struct {
		began time.Duration // after it went out
		much  float64       // of its light
		hue   colorcalc.UV
		waits bool
	}{
		"its own":               {200 * time.Millisecond, 0.5, own, true},
		"before long":           {5 * time.Second, 0.5, own, false},
		"a little of another's": {200 * time.Millisecond, 0.02, own, false},
		"of another colour":     {200 * time.Millisecond, 0.5, colorcalc.UV{U: 0.30, V: 0.52}, false},
	} {
		b := newBench(t, 2, nil)
		c, u := b.c, b.c.units[1]
		u.own, u.outAt = own.XYZ(500), time.Minute
		before := u.settle
		var got []Reading
		for k := range 24 {
			s := 0.3 * float64(k)
			light := own.XYZ(840).Add(x.hue.XYZ(x.much * 500 * math.Exp(-s)))
			got = append(got, Reading{UV: light.UV(), Y: light.Y, HasY: true, Integration: 100 * time.Millisecond,
				At: u.outAt + x.began + 100*time.Millisecond + time.Duration(s*1e9)})
		}
		c.glowed(u.Info.Probe, got)
		if waits := u.settle > before; waits != x.waits {
			t.Errorf("%s: waited for %v, %v before", what, u.settle, before)
		}
		if x.waits && (u.settle < 3*time.Second || u.settle > 6*time.Second) {
			t.Errorf("%s: of a glow of a second it is waited for %v", what, u.settle)
		}
	}
}

// The first look at the dark may begin while lamps go out that were lit as the run began, and of which nobody knows anything yet: five readings that fell by 3.5
// to 1 were taken for a background of 294 lux, where it was half a lux. What falls is waited for; a background that stands, or has one odd reading, is not.
func TestTheFirstDarkIsNotReadWhileLampsGoOut(t *testing.T) {
	room := colorcalc.UV{U: 0.195, V: 0.476}
	c := &Core{cfg: Config{Plan: DefaultPlan()}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}}}
	for what, x := range map[string]struct {
		light func(k int) float64 // lux, by the reading
		waits bool
		dark  float64
	}{
		"a slow fade":                {func(k int) float64 { return 0.5 + 500*math.Exp(-0.3*float64(k)) }, true, 0.5},
		"a fade in a straight line":  {func(k int) float64 { return 3 + max(0, 500-60*float64(k)) }, true, 3},
		"a fast one":                 {func(k int) float64 { return 0.5 + 18*math.Exp(-1.5*float64(k)) }, true, 0.5},
		"light that stands":          {func(k int) float64 { return 27.5 + 0.05*float64(k%3) }, false, 27.5},
		"the first reading too much": {func(k int) float64 { return 27.5 + 200*float64(1-min(k, 1)) + 0.05*float64(k%3) }, false, 27.5},
		"it is switched off":         {func(k int) float64 { return 27.5 - 20*float64(k/2) + 20*float64(max(0, k/2-1)) }, false, 7.5},
	} {
		var got, rest []Reading
		more := false
		for k := 0; k < 60; k++ {
			got = append(got, Reading{UV: room, Y: x.light(k), HasY: true, At: 10*time.Second + time.Duration(k)*200*time.Millisecond})
			if rest, more = c.standing("mark", nil, got); len(rest) >= firstDark && !more {
				break
			}
		}
		if waits := len(got) > firstDark; waits != x.waits {
			t.Errorf("%s: %d readings", what, len(got))
		}
		if lux := levels(rest); math.Abs(median(lux)-x.dark) > 0.1*x.dark+0.5 {
			t.Errorf("%s: the dark is %.2f lux by %d of %d readings, truly %.2f", what, median(lux), len(rest), len(got), x.dark)
		}
	}
}
