package core

import (
	"math"
	"testing"

	"trueup/colorcalc"
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
