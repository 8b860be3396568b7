package model

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

var (
	red   = colorcalc.XY{X: 0.69, Y: 0.305}.UV()
	green = colorcalc.XY{X: 0.19, Y: 0.71}.UV()
	blue  = colorcalc.XY{X: 0.145, Y: 0.05}.UV()
	amber = colorcalc.XY{X: 0.58, Y: 0.415}.UV()
	lime  = colorcalc.XY{X: 0.41, Y: 0.54}.UV()
	cyan  = colorcalc.XY{X: 0.09, Y: 0.42}.UV()
	white = colorcalc.XY{X: 0.36, Y: 0.365}.UV()
)

// sevenSpec is a spec of the first n of seven emitters, doubled beyond.
func sevenSpec(n int, max uint32) Spec {
	e := []Emitter{{Name: "red", UV: red, Flux: 90}, {Name: "green", UV: green, Flux: 160}, {Name: "blue", UV: blue, Flux: 30},
		{Name: "white", UV: white, Flux: 260, White: true}, {Name: "amber", UV: amber, Flux: 80}, {Name: "lime", UV: lime, Flux: 220}, {Name: "cyan", UV: cyan, Flux: 70}}
	s := Spec{Name: "test lamp", Kind: Emitters, Curve: law.Curve{Law: law.Linear}}
	for i := range n {
		s.Emitters = append(s.Emitters, e[i%len(e)])
		s.Channels = append(s.Channels, Channel{Name: s.Emitters[i].Name, Max: max, Hi: max})
	}
	return s
}

func cctSpecFor(max uint32) Spec {
	return Spec{Kind: CCT, Channels: []Channel{{Name: "cct", Max: max, Hi: max}, {Name: "tint", Max: max, Hi: max}},
		CCT: &CCTSpec{Channel: 0, Scale: law.CCT{From: 2700, To: 6500}, Tint: 1, TintScale: law.Tint{Unit: law.TintDuv, From: -0.015, To: 0.015}}}
}

func xySpecFor(max uint32) Spec {
	return Spec{Kind: XY, Channels: []Channel{{Name: "x", Max: max, Hi: max}, {Name: "y", Max: max, Hi: max}},
		XY: &XYSpec{X: 0, Y: 1, XScale: law.Line{To: 0.8}, YScale: law.Line{To: 0.8}, Gamut: []colorcalc.UV{red, green, blue}}}
}

func hueSpecFor(max uint32) Spec {
	return Spec{Kind: HueSat, Channels: []Channel{{Name: "hue", Max: max, Hi: max}, {Name: "sat", Max: max, Hi: max}}, HueSat: &HueSatSpec{Hue: 0, Sat: 1, HueScale: law.Hue{Line: law.Line{To: 360 * float64(max) / float64(max+1)}}, SatScale: law.Line{To: 1}}}
}

// What the filter believes of its slopes agrees with differences, away from any
// point of symmetry.
func TestJacobiansAgainstDifferences(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	laws := []law.Curve{{Law: law.Linear}, {Law: law.Square}, {Law: law.Gamma, Gamma: 2.6}, {Law: law.SCurve}, {Law: law.Table, Table: []float64{0, 0.1, 0.25, 0.6, 1}}}
	var specs []Spec
	for n := 3; n <= 7; n++ {
		s := sevenSpec(n, 65535)
		s.Curve = laws[n-3]
		s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: 65535, Hi: 65535})
		s.Dimmer = &DimmerSpec{Channel: n, Level: law.Level{Curve: law.Curve{Law: law.Square}}}
		specs = append(specs, s)
	}
	specs = append(specs, cctSpecFor(65535), xySpecFor(65535), hueSpecFor(65535))
	for _, s := range specs {
		if err := s.Check(); err != nil {
			t.Fatal(err)
		}
		m := New(&s)
		N, g := m.Dim().N, m.Dim().G
		h := m.Prior()[0]
		for i := range N { // lopsided: a different nudge for every state
			h.X[i] += 0.3 * math.Sqrt(h.P[i*N+i]) * r.NormFloat64() * b2f(i != g)
		}
		m.Bound(h.X)
		d := make([]float64, len(s.Channels))
		for i := range d {
			d[i] = 0.13 + 0.11*float64(i)
		}
		jac := make([]float64, 3*N)
		var z, a, b [3]float64
		m.Predict(h.Law, h.X, d, &z, jac)
		for i := range N {
			step := 1e-6 * (1 + math.Abs(h.X[i]))
			was := h.X[i]
			h.X[i] = was + step
			m.Predict(h.Law, h.X, d, &a, nil)
			h.X[i] = was - step
			m.Predict(h.Law, h.X, d, &b, nil)
			h.X[i] = was
			for k := range 3 {
				want := (a[k] - b[k]) / (2 * step)
				if got := jac[k*N+i]; math.Abs(got-want) > 1e-5+2e-3*math.Abs(want) {
					t.Errorf("%s, %d channels: d z%d / d state %d is %.8g, differences say %.8g", s.Kind, len(s.Channels), k, i, got, want)
				}
			}
		}
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// Light of two emitters adds: the model's mixture is that of the tristimulus
// values (Grassmann's law), computed here through colorcalc alone.
func TestMixtureIsAdditive(t *testing.T) {
	s := sevenSpec(4, 65535)
	m := New(&s)
	x := m.Prior()[0].X
	nb := 3 * 4
	d := []float64{0.3, 0.7, 0.2, 0.45}
	x[nb+offWarm] = 1
	q := colorcalc.XYZ{X: x[nb+offAmb], Y: x[nb+offAmb+1], Z: x[nb+offAmb+2]}
	for i := range 4 {
		q = q.Add(colorcalc.UV{U: x[3*i], V: x[3*i+1]}.XYZ(d[i] * math.Exp(x[3*i+2])))
	}
	var z [3]float64
	m.Predict(0, x, d, &z, nil)
	if uv := q.UV(); math.Hypot(uv.U-z[0], uv.V-z[1]) > 1e-12 || math.Abs(math.Log(q.Y)-z[2]) > 1e-12 {
		t.Errorf("mixture %v ln Y %g, want %v %g", z[:2], z[2], uv, math.Log(q.Y))
	}
}

// The locus of the colour temperature law is that of colorcalc, which is
// checked against published values, within the approximation's own bound.
func TestLocusAgainstColorcalc(t *testing.T) {
	for _, k := range []float64{2200, 2700, 3200, 4300, 5600, 6500, 8000, 10000, 12000} {
		for _, duv := range []float64{-0.012, 0, 0.009} {
			want, err := colorcalc.White(colorcalc.Kelvin(k), colorcalc.Duv(duv))
			if err != nil {
				t.Fatal(err)
			}
			u, v := offLocus(1e6/k, duv)
			if d := want.UV().Dist(colorcalc.UV{U: u, V: v}); d > 3e-4 {
				t.Errorf("%g K, Duv %g: %.5f off", k, duv, d)
			}
		}
	}
}

// Every law gives back the drive that its light came from.
func TestCurvesInvert(t *testing.T) {
	for _, c := range []law.Curve{{Law: law.Linear}, {Law: law.Square}, {Law: law.Gamma}, {Law: law.SCurve}, {Law: law.Table, Table: []float64{0, 0.2, 0.3, 1}}} {
		for d := 0.03; d < 1; d += 0.07 {
			p, _ := response(c, d, 0.11)
			if got := invResponse(c, p, 0.11); math.Abs(got-d) > 1e-6 {
				t.Errorf("%s: drive %g came back as %g", CurveName(c), d, got)
			}
		}
	}
}
