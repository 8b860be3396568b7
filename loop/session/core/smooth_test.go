package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// A lamp read half way between two looks at the dark, in the course of which the background rose by a fifth, is put right by
// half of that, in spite of what was taken off it then; what was read before the first of the looks stays. A background
// that is as it was leaves all readings as they are.
func TestReadingsBetweenTwoLooksAreCorrected(t *testing.T) {
	lamp, sky := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100), colorcalc.UV{U: 0.195, V: 0.466}.XYZ(40)
	meter := scene.Noise{UV: 0.0003, LnY: 0.003}
	for _, rise := range []float64{0.2, 0} {
		b := scene.NewBackground(sky, 5, meter, 10*time.Second)
		d := &dark{Background: b}
		before := d.Mark()
		reading := func(at time.Duration, behind float64) given {
			net := lamp.Add(sky.Scale(behind)) // the background has gone by so much since it was taken off
			return given{r: solve.Reading{UV: net.UV(), Y: net.Y, HasY: true, SigmaUV: 0.0004, At: at}, noise: 0.0004, under: sky}
		}
		u := &unit{given: []given{reading(5*time.Second, 0.3), reading(15*time.Second, rise/2)}}
		z := sky.Scale(1 + rise)
		at := 20 * time.Second
		d.Passage([]colorcalc.XYZ{z, z, z, z, z, z}, meter, []time.Duration{at, at, at, at, at, at})
		if much := (&Core{}).corrected(u, d, before); much != (rise > 0) {
			t.Errorf("a background that has risen by %.1f: made anew %v", rise, much)
		}
		if g := u.given[0]; g.r.UV.Dist(lamp.Add(sky.Scale(0.3)).UV()) > 1e-9 || g.under != sky {
			t.Errorf("what was read before the first look is changed to %+v", g)
		}
		if g := u.given[1]; g.r.UV.Dist(lamp.UV()) > 0.0003 || g.r.SigmaUV < g.noise {
			t.Errorf("a background that has risen by %.1f: read as %+v, %.5f from the lamp", rise, g.r, g.r.UV.Dist(lamp.UV()))
		}
	}
}

// A match is made anew from readings that the background was off for, but not one that knows of a setting without light, which no
// reading tells, nor one that has not begun.
func TestAMatchThatKnowsOfASettingWithoutLightIsLeftAsItIs(t *testing.T) {
	lamp, sky := colorcalc.XY{X: 0.345, Y: 0.352}.XYZ(100), colorcalc.UV{U: 0.195, V: 0.466}.XYZ(40)
	meter := scene.Noise{UV: 0.0003, LnY: 0.003}
	for _, c := range []struct{ begun, unseen, anew bool }{{true, false, true}, {true, true, false}, {false, false, false}} {
		b := newBench(t, 2, nil)
		u := b.c.units[1]
		d := &dark{Background: scene.NewBackground(sky, 5, meter, 10*time.Second)}
		before := d.Mark()
		net := lamp.Add(sky.Scale(0.3))
		r := solve.Reading{UV: net.UV(), Y: net.Y, HasY: true, SigmaUV: 0.0004, At: 15 * time.Second, Drive: make(solve.Drive, len(u.Spec.Channels))}
		v := &firstVisit{u: u}
		if c.begun {
			m, err := v.asFirst(b.c)
			if err != nil {
				t.Fatal(err)
			}
			m.Observe(r)
			v.match = m
		}
		if c.unseen {
			v.match.Unseen(r.Drive, nil)
		}
		was := v.match
		u.given = []given{{r: r, noise: 0.0004, under: sky}}
		z, at := sky.Scale(1.2), 20*time.Second
		d.Passage([]colorcalc.XYZ{z, z, z, z, z, z}, meter, []time.Duration{at, at, at, at, at, at})
		if b.c.remake(v, u, d, before); (v.match != was) != c.anew {
			t.Errorf("begun %v, a setting without light %v: made anew %v", c.begun, c.unseen, v.match != was)
		}
	}
}
