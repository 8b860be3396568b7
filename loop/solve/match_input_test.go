package solve

import (
	"fmt"
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

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

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestSpecsThatCannotBeMatched(t *testing.T) {
	nan := math.NaN()
	bad := map[string]func(*Spec){
		"no channels":       func(s *Spec) { s.Channels = nil },
		"no kind":           func(s *Spec) { s.Kind = 0 },
		"range upside down": func(s *Spec) { s.Channels[0].Lo, s.Channels[0].Hi = 9, 3 },
		"NaN colour":        func(s *Spec) { s.Emitters[0].UV.U = nan },
		"negative flux":     func(s *Spec) { s.Emitters[1].Flux = -1 },
		"falling table":     func(s *Spec) { s.Curve = law.Curve{Law: law.Table, Table: []float64{0, 0.5, 0.4, 1}} },
		"dark table":        func(s *Spec) { s.Curve = law.Curve{Law: law.Table, Table: []float64{0, 0}} },
		"NaN gamma":         func(s *Spec) { s.Curve = law.Curve{Law: law.Gamma, Gamma: nan} },
		"lost dimmer":       func(s *Spec) { s.Dimmer = &DimmerSpec{Channel: 9} },
		"short look":        func(s *Spec) { s.Start = Drive{1} },
		"cct without":       func(s *Spec) { s.Kind = CCT },
		"xy without":        func(s *Spec) { s.Kind = XY },
		"hue without":       func(s *Spec) { s.Kind = HueSat },
	}
	for name, spoil := range bad {
		s := sevenSpec(4, 255)
		spoil(&s)
		if _, err := New(s, Target{UV: model.D65}, nil, DefaultOptions()); err == nil {
			t.Errorf("%s: taken without a word", name)
		}
	}
	for _, tg := range []Target{{}, {UV: colorcalc.UV{U: nan, V: 0.4}}, {UV: model.D65, Tol: -1}, {UV: model.D65, Y: nan}, {UV: model.D65, SigmaUV: nan}} {
		if _, err := New(sevenSpec(4, 255), tg, nil, DefaultOptions()); err == nil {
			t.Errorf("target %+v: taken without a word", tg)
		}
	}
	for i, o := range []Options{{Confidence: 2}, {Confidence: nan}, {Level: 3}, {SigmaUV: nan}, {Budget: -1}} {
		if _, err := New(sevenSpec(4, 255), Target{UV: model.D65}, nil, o); err == nil {
			t.Errorf("options %d: taken without a word", i)
		}
	}
}

func ExampleNew() {
	spec := Spec{Name: "panel", Kind: CCT,
		Channels: []Channel{{Name: "cct", Max: 65535, Hi: 65535}, {Name: "tint", Max: 255, Hi: 255}},
		CCT:      &CCTSpec{Channel: 0, Scale: law.CCT{From: 2800, To: 6200}, Tint: 1, TintScale: law.Tint{Unit: law.TintDuv, From: -0.01, To: 0.01}}}
	m, err := New(spec, Target{UV: colorcalc.XY{X: 0.345, Y: 0.352}.UV()}, nil, DefaultOptions())
	if err != nil {
		fmt.Println(err)
		return
	}
	d := m.Next(0)
	fmt.Println(d.Action, len(d.Drive), d.P)
	// Output: move 2 0
}
