package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// A watch beside a light that goes on moving ends after some seconds: what it does is no blinking. One beside a light that is switched, or that
// nobody can make out, goes on until it is known, and no longer than a minute however slow the meter.
func TestAWatchBesideALightThatMovesEnds(t *testing.T) {
	plan := DefaultPlan()
	ref := colorcalc.UV{U: 0.2, V: 0.48}
	sweeps := func(s float64) colorcalc.XYZ {
		return colorcalc.UV{U: 0.21 + 0.08*math.Cos(s/6), V: 0.45 + 0.07*math.Sin(s/6)}.XYZ(2 - 1.9*math.Cos(s/4))
	}
	wild := func(s float64) colorcalc.XYZ { // no two readings agree, and none leads to the next
		n := math.Mod(s*97.31, 7)
		return colorcalc.UV{U: 0.15 + 0.02*n, V: 0.5 - 0.01*n}.XYZ(1 + n)
	}
	for what, x := range map[string]struct {
		light func(s float64) colorcalc.XYZ
		ends  time.Duration
	}{
		"sweeps": {sweeps, swingFor + time.Second},
		"wild":   {wild, longWatch + time.Second},
	} {
		c := &Core{cfg: Config{Plan: plan}, ref: &Reference{UV: ref}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}}}
		d := &dark{Background: scene.NewBackground(x.light(-3), 3, c.meter(""), 0), light: ref.XYZ(20)}
		var got []Reading
		for c.now = 10 * time.Second; c.now < 3*time.Minute; c.now += 200 * time.Millisecond {
			l := x.light(c.now.Seconds())
			got = append(got, Reading{UV: l.UV(), Y: l.Y, HasY: true, At: c.now})
			if len(got) >= 2 && !d.watching(c, got) {
				break
			}
		}
		if long := c.now - got[0].At; long > x.ends || what == "sweeps" && long < swingFor {
			t.Errorf("beside a light that is %s the watch lasts %v, want no longer than %v", what, long, x.ends)
		}
		if what == "sweeps" && !d.hueSwings(c, got) {
			t.Error("its hue is not seen to swing")
		}
	}
}

// A lamp that glows on in a hue of its own, when the dark is read, is no light that sweeps; one that goes on through its hues is, though it falls at first.
func TestAGlowIsNoLightThatSweeps(t *testing.T) {
	ref, room := colorcalc.UV{U: 0.22, V: 0.495}, colorcalc.UV{U: 0.242, V: 0.53}.XYZ(0.2)
	c := &Core{cfg: Config{Plan: DefaultPlan()}, ref: &Reference{UV: ref}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}},
		units: []*unit{{settle: 1200 * time.Millisecond}}}
	for _, x := range []struct {
		readings int
		light    func(s float64) colorcalc.XYZ
		sweeps   bool
	}{
		{8, func(s float64) colorcalc.XYZ {
			return room.Add(colorcalc.UV{U: 0.232, V: 0.5}.XYZ(11.5 * math.Exp(-s/0.2)))
		}, false},
		{8, func(s float64) colorcalc.XYZ { // it falls to the last
			return room.Add(colorcalc.UV{U: 0.232, V: 0.47}.XYZ(2.5 * math.Exp(-s/0.6)))
		}, false},
		{24, func(s float64) colorcalc.XYZ {
			return room.Add(colorcalc.UV{U: 0.21 - 0.08*math.Cos(s/3), V: 0.45 - 0.07*math.Sin(s/3)}.XYZ(6 + 5.9*math.Cos(s/2)))
		}, true},
	} {
		d := &dark{Background: scene.NewBackground(room, 3, c.meter(""), 0), light: ref.XYZ(280)}
		var got []Reading
		for k := range x.readings {
			at := time.Duration(k) * 300 * time.Millisecond
			l := x.light(at.Seconds())
			got = append(got, Reading{UV: l.UV(), Y: l.Y, HasY: true, At: 10*time.Second + at})
		}
		d.follow(c, got)
		if d.Sweeps() != x.sweeps {
			t.Errorf("%d readings: taken for a light that sweeps: %v", x.readings, d.Sweeps())
		}
	}
}

// A lamp that glows on when the dark is read is no sky that swings, though it is seen to fall for seconds: where it is taken for one, all lamps there are held for light that
// goes too fast. A sky is seen to swing when it rises or falls evenly.
func TestAGlowIsNoSkyThatSwings(t *testing.T) {
	hue := colorcalc.UV{U: 0.21, V: 0.475}
	room := hue.XYZ(100)
	c := &Core{cfg: Config{Plan: DefaultPlan()}, ref: &Reference{UV: colorcalc.UV{U: 0.22, V: 0.495}}, meters: meters{first: meterNoise{sumSq: 2 * 1e4 * 9e-8, dof: 1e4, sumSqY: 1e4 * 1.6e-5, dofY: 1e4}},
		units: []*unit{{Unit: &Unit{}, settle: 500 * time.Millisecond, outAt: 9 * time.Second}}, now: 20 * time.Second}
	for what, x := range map[string]struct {
		readings int
		lux      func(s float64) float64
		swings   bool
	}{
		"a glow":                      {8, func(s float64) float64 { return 100 + 14*math.Exp(-s/0.6) }, false},
		"a long one":                  {30, func(s float64) float64 { return 100 + 20*math.Exp(-s/1.2) }, false},
		"one that is not over":        {4, func(s float64) float64 { return 100 + 40*math.Exp(-s/0.5) }, false},
		"one of which little is left": {3, func(s float64) float64 { return 100 + 4*math.Exp(-s/0.4) }, false},
		"a sky that rises":            {8, func(s float64) float64 { return 100 + 4*s }, true},
		"a sky that falls":            {8, func(s float64) float64 { return 120 - 4*s }, true},
		"a sky that falls and rises":  {30, func(s float64) float64 { return 110 + 8*math.Cos(s/1.5) }, true},
	} {
		d := &dark{Background: scene.NewBackground(room, 5, c.meter(""), 0), light: c.ref.UV.XYZ(110)}
		var got []Reading
		for k := range x.readings {
			s := 0.3 * float64(k)
			scatter := 1 + 0.004*math.Sin(float64(7*k))
			got = append(got, Reading{UV: hue, Y: x.lux(s) * scatter, HasY: true, At: 10*time.Second + time.Duration(s*1e9)})
		}
		if d.wanders(c, got); d.swings != x.swings {
			t.Errorf("%s: is taken for a light that swings: %v", what, d.swings)
		}
	}
}
