package main

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles"
)

// seen makes readings of an emitter at the levels that are probed.
func seen(e *profiles.Emitter, xy colorcalc.XY, lux float64, law func(d float64) float64) probed {
	p := probed{emitter: e}
	for _, share := range probeSteps {
		d := share * probeTop
		p.points = append(p.points, probedPoint{drive: d, light: xy.XYZ(lux * law(d))})
	}
	return p
}

// The law that light follows is named from three levels, with a meter's noise
// on them, and a law that a profile has no word for becomes its exponent.
func TestTheLawOfAnEmitterIsNamed(t *testing.T) {
	xy := colorcalc.XY{X: 0.3, Y: 0.3}
	for _, c := range []struct {
		want string
		law  func(d float64) float64
	}{
		{"linear", func(d float64) float64 { return d }},
		{"square", func(d float64) float64 { return d * d }},
		{"s", func(d float64) float64 { return 3*d*d - 2*d*d*d }},
		{"{gamma: 2.6}", func(d float64) float64 { return math.Pow(d, 2.6) }},
		{"{gamma: 0.5}", math.Sqrt},
		{"", func(d float64) float64 { return 1 / d }}, // light falls: no law at all
	} {
		p := seen(&profiles.Emitter{}, xy, 100, c.law)
		for i, noise := range []float64{1.01, 0.99, 1.01} {
			p.points[i].light = p.points[i].light.Scale(noise)
		}
		if got := p.curve(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// Exchanged slots and emitters without light are said; what is proposed can
// stand in a profile.
func TestWhatAProbeProposes(t *testing.T) {
	text := "profile: Lamp\nmodes:\n  - mode: a\n    kind: emitters\n    slots: 6\n    emitters:\n" +
		"      - {name: red, slots: [1, 2], dominant_nm: 625}\n      - {name: green, slots: [3, 4], dominant_nm: 525}\n      - {name: blue, slots: [5, 6], dominant_nm: 465}\n"
	old, err := profiles.Parse("lamp", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	m := &old.Modes[0]
	square := func(d float64) float64 { return d * d }
	p := emitterProbe{mode: m, found: []probed{
		seen(&m.Emitters[0], colorcalc.XY{X: 0.17, Y: 0.70}, 300, square), // green light on red's slot
		seen(&m.Emitters[1], colorcalc.XY{X: 0.70, Y: 0.30}, 200, square),
		seen(&m.Emitters[2], colorcalc.XY{X: 0.15, Y: 0.05}, 0, square), // dark
	}}
	var b bytes.Buffer
	p.report(&b)
	for _, want := range []string{"red looks like green: are the two slots exchanged", "green looks like red", "blue gives no light: check the slot",
		"{name: red, slots: [1, 2], xy: [0.1700, 0.7000], uncertainty: 0.003, flux: 108, curve: square}"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is not said:\n%s", want, b.String())
		}
	}
	// The lines that it proposes, in the place of the old ones, are a profile.
	var lines []string
	for _, l := range strings.Split(b.String(), "\n") {
		if strings.HasPrefix(l, "      - {") {
			lines = append(lines, l)
		}
	}
	lines = append(lines, "      - {name: blue, slots: [5, 6]}")
	head, _, _ := strings.Cut(text, "      - ")
	if len(lines) != 3 {
		t.Fatalf("%d lines proposed:\n%s", len(lines), b.String())
	}
	if _, err := profiles.Parse("proposed", []byte(head+strings.Join(lines, "\n")+"\n")); err != nil {
		t.Errorf("%v", err)
	}
}
