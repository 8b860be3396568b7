package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// The harm of one neighbour is what mixing its light in does to the chromaticity: light adds
// (Grassmann's law). It is told to within a tenth.
func TestHarmIsWhatMixingDoes(t *testing.T) {
	own := colorcalc.UV{U: 0.21, V: 0.49}.XYZ(100)
	for _, share := range []float64{0.001, 0.01, 0.03, 0.1} {
		for i := range 12 {
			a := float64(i) * math.Pi / 6
			o := colorcalc.UV{U: 0.21 + 0.03*math.Cos(a), V: 0.49 + 0.03*math.Sin(a)}.XYZ(100 * share)
			moved := own.Add(o).UV().Dist(own.UV())
			if got := harm(own, []colorcalc.XYZ{o}); got < 0.9*moved || got > 1.1*moved {
				t.Errorf("a share of %g towards %.0f degrees: %.6f, mixing gives %.6f", share, a*180/math.Pi, got, moved)
			}
		}
	}
}

// What nobody has read may not be lit beside another; what spills little may.
func TestWhatMayBeLitTogether(t *testing.T) {
	own := colorcalc.UV{U: 0.21, V: 0.49}.XYZ(100)
	a, b := &unit{Unit: &Unit{Info: FixtureInfo{Name: "a"}}}, &unit{Unit: &Unit{Info: FixtureInfo{Name: "b"}}}
	s := spill{}
	if _, ok := s.beside(own, "mark", []*unit{a}, 0.001); ok {
		t.Error("a lamp that nobody has read may be lit")
	}
	s.put("a", "mark", colorcalc.UV{U: 0.21, V: 0.49}.XYZ(1))
	if tau, ok := s.beside(own, "mark", []*unit{a}, 0.001); !ok {
		t.Errorf("1 %% of 0.02 off may not be lit: %.5f", tau)
	}
	s.put("b", "mark", colorcalc.UV{U: 0.21, V: 0.49}.XYZ(1))
	if tau, ok := s.beside(own, "mark", []*unit{a, b}, 0.001); ok {
		t.Errorf("two of 1 %%, together 0.00028 off, may be lit: %.5f", tau)
	}
	if _, ok := s.beside(colorcalc.XYZ{}, "mark", []*unit{a}, 0.001); ok {
		t.Error("beside a lamp without light others may be lit")
	}
}

// The survey takes off the dark that was read before it. Where the background of a probe falls meanwhile its light was part of what that probe
// read, and hid as much of what lamps throw there: they are taken to throw so much more. Where it rose, or the survey was made after it fell, all stays.
func TestAFallOfTheBackgroundMayHideSpill(t *testing.T) {
	for name, x := range map[string]struct {
		read  time.Duration // the survey, after the look at the dark before it
		falls float64       // lux
		want  float64       // that the lamp is taken to throw there
	}{
		"falls":          {time.Second, 1, 2},
		"rises":          {time.Second, -10, 1},
		"surveyed after": {-time.Second, 1, 1},
	} {
		b := newBench(t, 2, nil)
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.moving != nil })
		c := b.c
		d := c.background["left"]
		white := colorcalc.UV{U: 0.2, V: 0.47}
		c.spill.put("wash 1", "left", white.XYZ(1))
		c.spillRead["left"] = d.known() + x.read
		now := d.Mean().Sub(white.XYZ(x.falls))
		at := d.known() + 5*time.Second
		var rest []Reading
		for k := range 3 {
			rest = append(rest, Reading{Probe: "left", UV: now.UV(), Y: now.Y, HasY: true, At: at + time.Duration(k)*time.Second})
		}
		c.leapt("left", d, []scene.Jump{{Since: d.known(), At: at, By: white.XYZ(-x.falls)}}, rest, rest)
		if got := c.spill["wash 1"]["left"].Y; math.Abs(got-x.want) > 0.05 {
			t.Errorf("%s: %.2f lux, want %.2f", name, got, x.want)
		}
	}
}
