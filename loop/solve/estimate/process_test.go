package estimate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
	"trueup/profiles/law"
)

func panel() *model.Engine {
	s := &model.Spec{Kind: model.CCT, Channels: []model.Channel{{Max: 65535, Hi: 65535}, {Max: 65535, Hi: 65535}},
		CCT: &model.CCTSpec{Scale: law.CCT{From: 2700, To: 6500}, Tint: 1, TintScale: law.Tint{Unit: law.TintDuv, From: -0.015, To: 0.015}}}
	return model.NewEngine(s)
}

// The process predicts what the textbook's formula gives: k' K^-1 y for the mean,
// k(x, x) - k' K^-1 k for the variance (Rasmussen and Williams 2006, equations 2.25
// and 2.26), with K inverted by gonum.
func TestProcessAgainstTheTextbook(t *testing.T) {
	e := panel()
	law := NewSum(e, nil).Nominal
	var points []Point
	for k := range 6 {
		d := []float64{0.1 + 0.14*float64(k), 0.9 - 0.11*float64(k)}
		u, v := e.Colour(law.Law, law.X, d)
		pt := Point{D: d}
		o := Obs{Z: [3]float64{u + 0.002*math.Sin(float64(k)), v - 0.001*float64(k%3), 0}, R: num.Cov2{UU: 9e-8, VV: 9e-8}, Axes: 2}
		pt.Add(&o, k != 2)
		points = append(points, pt)
	}
	p := NewProcess(e, law, points, colorcalc.UV{U: 0.21, V: 0.49})
	n := len(points)
	k := mat.NewSymDense(n, nil)
	y := [2]*mat.VecDense{mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)}
	for i := range n {
		for j := i; j < n; j++ {
			k.SetSym(i, j, p.kernel(p.Points[i].Ask, p.Points[j].Ask))
		}
		k.SetSym(i, i, k.At(i, i)+p.Points[i].Variance)
		u, v := e.Colour(law.Law, law.X, p.Points[i].D)
		y[0].SetVec(i, p.Points[i].Mean[0]-u)
		y[1].SetVec(i, p.Points[i].Mean[1]-v)
	}
	var inv mat.Dense
	if err := inv.Inverse(k); err != nil {
		t.Fatal(err)
	}
	for _, d := range [][]float64{{0.1, 0.9}, {0.3, 0.3}, {0.77, 0.5}, {1, 0}} {
		ask := [2]float64{}
		ask[0], ask[1] = e.Asked(d)
		row := mat.NewVecDense(n, nil)
		for i := range n {
			row.SetVec(i, p.kernel(ask, p.Points[i].Ask))
		}
		var w mat.VecDense
		w.MulVec(&inv, row)
		u, v := e.Colour(law.Law, law.X, d)
		u, v = u+mat.Dot(&w, y[0]), v+mat.Dot(&w, y[1])
		variance := p.kernel(ask, ask) - mat.Dot(&w, row)
		gu, gv, gs := p.At(d)
		if math.Abs(gu-u) > 1e-8 || math.Abs(gv-v) > 1e-8 || math.Abs(gs-variance) > 1e-3*variance+leastProcess {
			t.Errorf("at %v: (%.9f, %.9f) variance %.4g, want (%.9f, %.9f) %.4g", d, gu, gv, gs, u, v, variance)
		}
	}
}

// A process of nothing read is the law with the variance of not knowing.
func TestProcessWithoutPoints(t *testing.T) {
	e := panel()
	law := NewSum(e, nil).Nominal
	p := NewProcess(e, law, nil, colorcalc.UV{U: 0.21, V: 0.49})
	d := []float64{0.4, 0.6}
	u, v := e.Colour(law.Law, law.X, d)
	if gu, gv, s2 := p.At(d); gu != u || gv != v || s2 < kernelOffset*kernelOffset {
		t.Errorf("(%g, %g) variance %g, want the law (%g, %g) and no less than %g", gu, gv, s2, u, v, kernelOffset*kernelOffset)
	}
}

// Weights add up to one, the heaviest is first, and no more than a few are kept,
// whatever is read; a reading that no light of this lamp explains is an outlier.
func TestSumKeepsItsWeights(t *testing.T) {
	s := NewSum(panel(), nil)
	d := []float64{0.5, 0.5}
	s.Arrive(nil, d, nil)
	for k := range 12 {
		o := Obs{Z: [3]float64{0.21 + 0.0004*float64(k%3), 0.48, 3}, R: num.Cov2{UU: 1e-7, VV: 1e-7}, RY: 1e-4, Axes: 3}
		if k == 5 {
			o.Z[0] = 0.5
		}
		if k == 0 {
			s.GuessScale(d, o.Z[2])
		}
		accepted := s.Observe(d, &o, 0)
		if k == 5 && accepted > 0.5 {
			t.Errorf("a reading 0.3 away is accepted by %.2f", accepted)
		}
		sum, last := 0.0, math.Inf(1)
		for _, c := range s.Components {
			if c.Weight > last {
				t.Errorf("reading %d: weight %g behind %g", k, c.Weight, last)
			}
			sum, last = sum+c.Weight, c.Weight
		}
		if math.Abs(sum-1) > 1e-12 || len(s.Components) > maxComponents {
			t.Errorf("reading %d: %d components weigh %g", k, len(s.Components), sum)
		}
	}
}
