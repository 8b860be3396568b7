package plan

import (
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

func fourEmitters() *model.Spec {
	s := &model.Spec{Kind: model.Emitters, Curve: law.Curve{Law: law.Linear}}
	for _, e := range []model.Emitter{{Name: "red", UV: colorcalc.XY{X: 0.69, Y: 0.305}.UV(), Flux: 90}, {Name: "green", UV: colorcalc.XY{X: 0.19, Y: 0.71}.UV(), Flux: 160},
		{Name: "blue", UV: colorcalc.XY{X: 0.145, Y: 0.05}.UV(), Flux: 30}, {Name: "white", UV: colorcalc.XY{X: 0.36, Y: 0.365}.UV(), Flux: 260, White: true}} {
		s.Emitters = append(s.Emitters, e)
		s.Channels = append(s.Channels, model.Channel{Name: e.Name, Max: 65535, Hi: 65535})
	}
	return s
}

// A planned drive gives what was asked, by the model's own prediction of its codes:
// the chromaticity to a step of the codes, and of all drives that do, one with as
// much white as it may have.
func TestPlansGiveWhatWasAsked(t *testing.T) {
	s := fourEmitters()
	m := model.NewMixture(s)
	x := m.Prior()[0].X
	now := []float64{0.5, 0.5, 0.5, 0.5}
	for _, xy := range []colorcalc.XY{{X: 0.42, Y: 0.40}, {X: 0.31, Y: 0.33}, {X: 0.5, Y: 0.38}, {X: 0.25, Y: 0.2}} {
		p := NewMixture(m, s, MostWhite, 0.9, nil)
		pl, ok := p.Plan(0, x, now, xy.UV(), 0.001)
		var z [3]float64
		m.Predict(0, x, pl.D, &z, nil)
		off := math.Hypot(z[0]-x[m.Dim().B]-xy.UV().U, z[1]-x[m.Dim().B+1]-xy.UV().V)
		if !ok || !pl.Reaches(0.001) || off > 1e-4 || math.Abs(off-pl.Err) > 1e-9 {
			t.Errorf("%v: reachable %v, %.6f off, says %.6f", xy, ok, off, pl.Err)
		}
		again := p.Fresh(0, x, now, xy.UV(), 0.001)
		if math.Abs(float64(again.Codes[3])-float64(pl.Codes[3])) > 1 || pl.Codes[3] < 10000 {
			t.Errorf("%v: white at %d, then at %d", xy, pl.Codes[3], again.Codes[3])
		}
	}
}

// Past the gamut the plan is as near as the best of a fine grid of mixtures.
func TestNearestMixture(t *testing.T) {
	s := fourEmitters()
	s.Emitters, s.Channels = s.Emitters[:3], s.Channels[:3]
	m := model.NewMixture(s)
	x := m.Prior()[0].X
	b := m.Dim().B
	for _, uv := range []colorcalc.UV{{U: 0.06, V: 0.45}, {U: 0.35, V: 0.56}, {U: 0.02, V: 0.58}} {
		pl, ok := NewMixture(m, s, MostWhite, 0.9, nil).Plan(0, x, []float64{0.5, 0.5, 0.5}, uv, 0.001)
		if ok {
			t.Errorf("%v counts as within reach", uv)
		}
		best := math.Inf(1)
		var z [3]float64
		for i := range 101 {
			f := float64(i) / 100
			for _, d := range [][]float64{{1, f, 0}, {f, 1, 0}, {0, 1, f}, {0, f, 1}, {1, 0, f}, {f, 0, 1}, {1, f, f}, {f, 1, f}, {f, f, 1}} {
				m.Predict(0, x, d, &z, nil)
				best = min(best, math.Hypot(z[0]-x[b]-uv.U, z[1]-x[b+1]-uv.V))
			}
		}
		if pl.Err > best+2e-4 {
			t.Errorf("%v: %.5f off, a grid finds %.5f", uv, pl.Err, best)
		}
	}
}

// An engine's plan inverts its law to a code, wherever the head stands; past its
// range it ends at the end that is nearest.
func TestEnginePlans(t *testing.T) {
	s := &model.Spec{Kind: model.CCT, Channels: []model.Channel{{Max: 65535, Hi: 65535}, {Max: 65535, Hi: 65535}},
		CCT: &model.CCTSpec{Scale: law.CCT{From: 2700, To: 6500}, Tint: 1, TintScale: law.Tint{From: -0.015, To: 0.015}}}
	if err := s.Check(); err != nil {
		t.Fatal(err)
	}
	e := model.NewEngine(s)
	x := e.Prior()[0].X
	p := NewEngine(e, s)
	for _, d := range [][]float64{{0.2, 0.7}, {0.5, 0.5}, {0.85, 0.25}} {
		u, v := e.Colour(0, x, d)
		for _, now := range [][]float64{{0.5, 0.5}, {0, 1}, {1, 0}} {
			pl, ok := p.Plan(0, x, now, colorcalc.UV{U: u, V: v}, 0.001)
			if !ok || math.Abs(pl.D[0]-d[0]) > 2e-4 || math.Abs(pl.D[1]-d[1]) > 2e-4 {
				t.Errorf("from %v: planned %v for %v", now, pl.D, d)
			}
		}
	}
	far, err := colorcalc.White(2000, 0)
	if err != nil {
		t.Fatal(err)
	}
	if pl, ok := p.Plan(0, x, []float64{0.5, 0.5}, far.UV(), 0.001); ok || pl.D[0] > 0.01 {
		t.Errorf("2000 K from 2700 K up: reachable %v, planned %v", ok, pl.D)
	}
}
