package profiles

import (
	"fmt"
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// The table of narrow emitters agrees with spectra integrated by the colour
// room, and its dominant wavelengths with the spectral locus seen from the
// equal-energy point.
func TestNarrowEmittersLieWhereTheirSpectraSay(t *testing.T) {
	for _, n := range narrow {
		xy, err := spectrum.Gaussian(n.peak, 25, spectrum.Visible1).XY()
		if err != nil {
			t.Fatal(err)
		}
		if d := xy.UV().Dist(colorcalc.UV{U: n.u, V: n.v}); d > 0.0005 {
			t.Errorf("peak %g nm: %.4f off", n.peak, d)
		}
		if n.dominant < 400 || n.dominant > 690 {
			continue // the locus hardly moves there
		}
		line, err := spectrum.Gaussian(n.dominant, 1.5, spectrum.Visible1).XY()
		if err != nil {
			t.Fatal(err)
		}
		// Emitter and locus lie in one direction from (1/3, 1/3).
		a := math.Atan2(xy.Y-1./3, xy.X-1./3)
		b := math.Atan2(line.Y-1./3, line.X-1./3)
		if math.Abs(a-b) > 0.02 {
			t.Errorf("peak %g nm: the dominant wavelength %g nm lies %.3f rad aside", n.peak, n.dominant, a-b)
		}
	}
	for nm := 380.0; nm <= 700; nm += 7 {
		if c := ofPeak(nm); !c.XY().Valid() {
			t.Errorf("%g nm is at %v", nm, c)
		}
	}
}

// Corner values as the trade knows its emitters: red is red.
func TestColourWordsMeanTheirColours(t *testing.T) {
	for word, want := range map[string]struct{ x0, x1, y0, y1 float64 }{
		"red": {0.68, 0.72, 0.28, 0.32}, "Amber": {0.55, 0.61, 0.38, 0.44}, "lime": {0.38, 0.45, 0.50, 0.58}, "green": {0.08, 0.20, 0.68, 0.80},
		"cyan": {0.02, 0.09, 0.40, 0.60}, "blue": {0.12, 0.15, 0.02, 0.07}, "indigo": {0.15, 0.17, 0.01, 0.03}, "uv": {0.16, 0.18, 0, 0.01},
		"warm white": {0.42, 0.46, 0.38, 0.42}, "Cool-White": {0.31, 0.33, 0.32, 0.34}, "white warm": {0.42, 0.46, 0.38, 0.42}, "white 2": {0.34, 0.38, 0.34, 0.38},
		"cold white": {0.31, 0.33, 0.32, 0.34}, "mint": {0.33, 0.40, 0.42, 0.50}, "violet": {0.165, 0.175, 0, 0.02},
	} {
		g, ok := guessOf(word)
		if !ok {
			t.Errorf("%q is not known", word)
			continue
		}
		if c := g.uv().XY(); c.X < want.x0 || c.X > want.x1 || c.Y < want.y0 || c.Y > want.y1 {
			t.Errorf("%q is at %.3f %.3f", word, c.X, c.Y)
		}
	}
	for _, word := range []string{"", "white", "white white", "white (", "gobo", "5", "white white white warm"} {
		guessOf(word) // must come back
	}
	if _, ok := guessOf("gobo"); ok {
		t.Error("a gobo has no colour")
	}
}

func TestUVAndVioletAreCappedAndSayWhy(t *testing.T) {
	p, err := Load("../examples/profiles/ashelow-twelve.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range p.Modes[0].Emitters {
		want := map[string]float64{"violet": 0.10, "uv": 0.05}[e.Name]
		if want == 0 {
			want = 1
		}
		if e.Cap != want || (e.Cap < 1) != (e.CapWhy != "") || e.Blind != (want < 1) {
			t.Errorf("%s: cap %g, blind %v, why %q", e.Name, e.Cap, e.Blind, e.CapWhy)
		}
	}
	// By its wavelength too, whatever it is called.
	p, err = Parse("f", []byte("profile: A\nmodes:\n  - {mode: m, kind: emitters, slots: 3, emitters: [{name: black light, slots: [1], peak_nm: 365}, {name: green, slots: [2]}, {name: white, slots: [3]}]}\n"))
	if err != nil || p.Modes[0].Emitters[0].Cap != 0.05 {
		t.Errorf("%v, %+v", err, p)
	}
}

func TestLightGivenAndLightGuessedStandOnOneScale(t *testing.T) {
	p, err := Load("../examples/profiles/murrelight-flood-24.yaml")
	if err != nil {
		t.Fatal(err)
	}
	e := p.Modes[0].Emitters
	if e[0].Flux != 0.9 || e[1].Flux != 1.5 || e[3].Flux != 2.6 {
		t.Errorf("given figures changed: %v %v %v", e[0].Flux, e[1].Flux, e[3].Flux)
	}
	// The guess for blue beside green is about a quarter to a fifth, on the
	// scale of the figures given.
	if r := e[2].Flux / e[1].Flux; r < 0.1 || r > 0.5 {
		t.Errorf("blue is guessed at %.2f of green", r)
	}
	if e[3].SigmaUV != sigmaFigures || e[3].UV.XY().X < 0.25 {
		t.Errorf("the spectrum was not read: %+v", e[3])
	}
}

// A peak of figures beats the word, and its uncertainty is what the file says.
func TestFiguresBeatWords(t *testing.T) {
	text := "profile: A\nmodes:\n  - mode: m\n    kind: emitters\n    slots: 3\n    emitters:\n      - {name: red, slots: [1], xy: [0.7, 0.3], uncertainty: 0.03}\n" +
		"      - {name: green, slots: [2]}\n      - {name: white, slots: [3], kelvin: 5600, duv: 0.003}\n"
	p, err := Parse("f", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	e := p.Modes[0].Emitters
	if c := e[0].UV.XY(); math.Abs(c.X-0.7) > 1e-9 || math.Abs(c.Y-0.3) > 1e-9 || e[0].SigmaUV != 0.03 {
		t.Errorf("red: %+v", e[0])
	}
	if e[1].SigmaUV < 0.015 || e[1].SigmaUV <= e[2].SigmaUV {
		t.Errorf("a word is as sure as figures: %g, %g", e[1].SigmaUV, e[2].SigmaUV)
	}
	k, d, err := colorcalc.CCT(e[2].UV.XY())
	if err != nil || math.Abs(float64(k)-5600) > 1 || math.Abs(float64(d)-0.003) > 1e-5 || !e[2].White {
		t.Errorf("white: %v K Duv %v, %v", k, d, err)
	}
}

// The tint's sign and unit, worked by hand.
func TestTintScales(t *testing.T) {
	a, err := Load("../examples/profiles/orchardlight-panel-kelvin.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := Load("../examples/profiles/holmelow-panel-mired.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if up := a.Modes[0].Tint.Law().At(65535); math.Abs(float64(up)-0.02) > 1e-12 {
		t.Errorf("full tint of the first panel is Duv %v, want +0.02 (green)", up)
	}
	if up := b.Modes[0].Tint.Law().At(65535); math.Abs(float64(up)+0.015) > 1e-12 {
		t.Errorf("full tint of the second panel is Duv %v, want -0.015 (magenta)", up)
	}
	// Half way between 9000 K (111.1 mired) and 2250 K (444.4) is 277.8 mired: 3600 K.
	c := b.Modes[0].CCT
	if k := (c.Law().At(32767) + c.Law().At(32768)) / 2; math.Abs(float64(k)-3600) > 0.05 {
		t.Errorf("the middle of a mired scale is %v K, want 3600", k)
	}
}

// An emitter of any name is white if its light is, and blind if it is hardly
// seen: a white with a violet pump is not, although it peaks at 415 nm.
func TestALightIsWhatItsFiguresSay(t *testing.T) {
	file := func(peaks ...float64) []byte {
		s := spectrum.Gaussian(peaks[0], 15, spectrum.Visible1)
		text := "nm,power\n"
		for i, v := range s.Values {
			nm := s.StartNM + float64(i)*s.StepNM
			if len(peaks) > 1 { // with a broad phosphor
				v += 0.6 * math.Exp(-math.Pow((nm-peaks[1])/70, 2))
			}
			text += fmt.Sprintf("%g,%.6f\n", nm, v)
		}
		return []byte(text)
	}
	files := map[string][]byte{"violet.csv": file(415), "pumped.csv": file(415, 570)}
	text := "profile: A\nmodes:\n  - mode: m\n    kind: emitters\n    slots: 4\n    emitters:\n      - {name: lens 1, slots: [1], spectrum: violet.csv}\n" +
		"      - {name: lens 2, slots: [2], spectrum: pumped.csv}\n      - {name: lens 3, slots: [3], xy: [0.38, 0.38]}\n      - {name: lens 4, slots: [4], xy: [0.2, 0.7]}\n"
	p, err := parse("f", []byte(text), func(name string) ([]byte, error) { return files[name], nil })
	if err != nil {
		t.Fatal(err)
	}
	e := p.Modes[0].Emitters
	if !e[0].Blind || e[0].Cap != blindCap || e[1].Blind || e[1].Cap != 1 {
		t.Errorf("violet %v, white with a violet pump %v", e[0].Blind, e[1].Blind)
	}
	if e[0].White || !e[2].White || e[3].White {
		t.Errorf("white: %v %v %v", e[0].White, e[2].White, e[3].White)
	}
}
