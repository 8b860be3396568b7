package solve

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
)

func cctSpecFor(max uint32) Spec {
	return Spec{Kind: CCT, Channels: []Channel{{Name: "cct", Max: max, Hi: max}, {Name: "tint", Max: max, Hi: max}},
		CCT: &CCTSpec{Channel: 0, AtZero: 2700, AtMax: 6500, Tint: 1, TintAtZero: -0.015, TintAtMax: 0.015}}
}

func xySpecFor(max uint32) Spec {
	return Spec{Kind: XY, Channels: []Channel{{Name: "x", Max: max, Hi: max}, {Name: "y", Max: max, Hi: max}},
		XY: &XYSpec{X: 0, Y: 1, AtMax: colorcalc.XY{X: 0.8, Y: 0.8}, Gamut: []colorcalc.UV{red, green, blue}}}
}

func hueSpecFor(max uint32) Spec {
	return Spec{Kind: HueSat, Channels: []Channel{{Name: "hue", Max: max, Hi: max}, {Name: "sat", Max: max, Hi: max}}, HueSat: &HueSatSpec{Hue: 0, Sat: 1}}
}

// What the filter believes of its slopes agrees with differences, away from any
// point of symmetry.
func TestJacobiansAgainstDifferences(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	laws := []Curve{{Law: Linear}, {Law: Square}, {Law: Gamma, Gamma: 2.6}, {Law: SCurve}, {Law: Table, Table: []float64{0, 0.1, 0.25, 0.6, 1}}}
	var specs []Spec
	for n := 3; n <= 7; n++ {
		s := sevenSpec(n, 65535)
		s.Curve = laws[n-3]
		s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: 65535, Hi: 65535})
		s.Dimmer = &DimmerSpec{Channel: n, Curve: Curve{Law: Square}}
		specs = append(specs, s)
	}
	specs = append(specs, cctSpecFor(65535), xySpecFor(65535), hueSpecFor(65535))
	for _, s := range specs {
		m, err := New(s, Target{UV: d65}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		N := m.f.n
		h := m.hyps[0]
		for i := range N { // lopsided: a different nudge for every state
			h.x[i] += 0.3 * math.Sqrt(h.p[i*N+i]) * r.NormFloat64() * b2f(i != m.f.g)
		}
		m.m.sane(h.x)
		d := make([]float64, len(s.Channels))
		for i := range d {
			d[i] = 0.13 + 0.11*float64(i)
		}
		jac := make([]float64, 3*N)
		var z, a, b [3]float64
		m.m.predict(h.law, h.x, d, &z, jac)
		for i := range N {
			step := 1e-6 * (1 + math.Abs(h.x[i]))
			was := h.x[i]
			h.x[i] = was + step
			m.m.predict(h.law, h.x, d, &a, nil)
			h.x[i] = was - step
			m.m.predict(h.law, h.x, d, &b, nil)
			h.x[i] = was
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
	m, _ := New(s, Target{UV: d65}, nil, DefaultOptions())
	x := m.first.x
	nb := 3 * 4
	d := []float64{0.3, 0.7, 0.2, 0.45}
	x[nb+offWarm] = 1
	q := colorcalc.XYZ{X: x[nb+offAmb], Y: x[nb+offAmb+1], Z: x[nb+offAmb+2]}
	for i := range 4 {
		q = q.Add(colorcalc.UV{U: x[3*i], V: x[3*i+1]}.XYZ(d[i] * math.Exp(x[3*i+2])))
	}
	var z [3]float64
	m.m.predict(0, x, d, &z, nil)
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
	for _, c := range []Curve{{Law: Linear}, {Law: Square}, {Law: Gamma}, {Law: SCurve}, {Law: Table, Table: []float64{0, 0.2, 0.3, 1}}} {
		for d := 0.03; d < 1; d += 0.07 {
			p, _ := response(c, d, 0.11)
			if got := invResponse(c, p, 0.11); math.Abs(got-d) > 1e-6 {
				t.Errorf("%s: drive %g came back as %g", lawWord(c), d, got)
			}
		}
	}
}

func TestSpecsThatCannotBeMatched(t *testing.T) {
	nan := math.NaN()
	bad := map[string]func(*Spec){
		"no channels":       func(s *Spec) { s.Channels = nil },
		"no kind":           func(s *Spec) { s.Kind = 0 },
		"range upside down": func(s *Spec) { s.Channels[0].Lo, s.Channels[0].Hi = 9, 3 },
		"NaN colour":        func(s *Spec) { s.Emitters[0].UV.U = nan },
		"negative flux":     func(s *Spec) { s.Emitters[1].Flux = -1 },
		"falling table":     func(s *Spec) { s.Curve = Curve{Law: Table, Table: []float64{0, 0.5, 0.4, 1}} },
		"dark table":        func(s *Spec) { s.Curve = Curve{Law: Table, Table: []float64{0, 0}} },
		"NaN gamma":         func(s *Spec) { s.Curve = Curve{Law: Gamma, Gamma: nan} },
		"lost dimmer":       func(s *Spec) { s.Dimmer = &DimmerSpec{Channel: 9} },
		"short look":        func(s *Spec) { s.Start = Drive{1} },
		"cct without":       func(s *Spec) { s.Kind = CCT },
		"xy without":        func(s *Spec) { s.Kind = XY },
		"hue without":       func(s *Spec) { s.Kind = HueSat },
	}
	for name, spoil := range bad {
		s := sevenSpec(4, 255)
		spoil(&s)
		if _, err := New(s, Target{UV: d65}, nil, DefaultOptions()); err == nil {
			t.Errorf("%s: taken without a word", name)
		}
	}
	for _, tg := range []Target{{}, {UV: colorcalc.UV{U: nan, V: 0.4}}, {UV: d65, Tol: -1}, {UV: d65, Y: nan}, {UV: d65, SigmaUV: nan}} {
		if _, err := New(sevenSpec(4, 255), tg, nil, DefaultOptions()); err == nil {
			t.Errorf("target %+v: taken without a word", tg)
		}
	}
	for i, o := range []Options{{Confidence: 2}, {Confidence: nan}, {Level: 3}, {SigmaUV: nan}, {Budget: -1}} {
		if _, err := New(sevenSpec(4, 255), Target{UV: d65}, nil, o); err == nil {
			t.Errorf("options %d: taken without a word", i)
		}
	}
}

func ExampleNew() {
	spec := Spec{Name: "panel", Kind: CCT,
		Channels: []Channel{{Name: "cct", Max: 65535, Hi: 65535}, {Name: "tint", Max: 255, Hi: 255}},
		CCT:      &CCTSpec{Channel: 0, AtZero: 2800, AtMax: 6200, Tint: 1, TintAtZero: -0.01, TintAtMax: 0.01}}
	m, err := New(spec, Target{UV: colorcalc.XY{X: 0.345, Y: 0.352}.UV()}, nil, DefaultOptions())
	if err != nil {
		fmt.Println(err)
		return
	}
	d := m.Next(0)
	fmt.Println(d.Action, len(d.Drive), d.P)
	// Output: move 2 0
}
