package quality_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"slices"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
)

func vectors(t testing.TB, name string, out any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/colour/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, out); err != nil {
		t.Fatal(err)
	}
}

func near(got, want, abs float64) bool { return math.Abs(got-want) <= abs }

var synthetic struct{ Spectra map[string][]float64 }

func source(t testing.TB, name, kind string) spectrum.Spectrum {
	t.Helper()
	if kind == "table" {
		s, ok := spectrum.Illuminant(name)
		if !ok {
			t.Fatalf("no illuminant %q", name)
		}
		return s
	}
	if synthetic.Spectra == nil {
		vectors(t, "synthetic_spectra.json", &synthetic)
	}
	s, err := spectrum.New(380, 5, synthetic.Spectra[name])
	if err != nil {
		t.Fatal(name, err)
	}
	return s
}

func TestCRIAgreesWithTheVectors(t *testing.T) {
	var f struct {
		Sources []struct {
			Name, Source     string
			CCT, Duv, DC, Ra float64
			R                []float64
			Rounded          float64 `json:"Ra_of_rounded"`
		}
	}
	vectors(t, "cri.json", &f)
	if len(f.Sources) < 27 {
		t.Fatal("vectors are missing")
	}
	for _, v := range f.Sources {
		r, err := quality.CRI(source(t, v.Name, v.Source))
		if err != nil {
			t.Errorf("%s: %v", v.Name, err)
			continue
		}
		// The vectors allow 0.01; the same tables give far better.
		if !near(r.Ra, v.Ra, 1e-4) || !near(r.RaOfRounded, v.Rounded, 1e-9) || !near(float64(r.CCT), v.CCT, 1e-4) || !near(float64(r.Duv), v.Duv, 1e-8) || !near(r.DC, v.DC, 1e-7) {
			t.Errorf("%s: %+v, want %+v", v.Name, r, v)
		}
		for i, want := range v.R {
			if !near(r.R[i], want, 5e-4) {
				t.Errorf("%s R%d: %v, want %v", v.Name, i+1, r.R[i], want)
			}
		}
		if r.Meaningful() != (v.DC <= 5.4e-3) {
			t.Errorf("%s: meaningful %v at %v", v.Name, r.Meaningful(), v.DC)
		}
	}
}

// The values that CIE 15 publishes for FL1 to FL12.
func TestFluorescentLampsHaveTheirPublishedRa(t *testing.T) {
	for i, want := range []float64{76, 64, 57, 51, 72, 59, 90, 95, 90, 81, 83, 83} {
		name := []string{"FL1", "FL2", "FL3", "FL4", "FL5", "FL6", "FL7", "FL8", "FL9", "FL10", "FL11", "FL12"}[i]
		r, err := quality.CRI(source(t, name, "table"))
		if err != nil || math.Round(r.RaOfRounded) != want {
			t.Errorf("%s: %v, %v, want %v", name, r.RaOfRounded, err, want)
		}
	}
}

func TestTM30AgreesWithTheVectors(t *testing.T) {
	var f struct {
		Sources []struct {
			Name, Source     string
			CCT, Duv, Rf, Rg float64
			RfH              []float64 `json:"Rf_h"`
			RcsH             []float64 `json:"Rcs_h"`
			RhsH             []float64 `json:"Rhs_h"`
			Min              float64   `json:"Rf_ces_min"`
			Some             []float64 `json:"Rf_ces_1_50_99"`
			Counts           []int     `json:"bin_counts"`
			Margin           float64   `json:"edge_margin_deg"`
		}
	}
	vectors(t, "tm30.json", &f)
	if len(f.Sources) < 27 {
		t.Fatal("vectors are missing")
	}
	for _, v := range f.Sources {
		r, err := quality.TM30(source(t, v.Name, v.Source))
		if err != nil {
			t.Errorf("%s: %v", v.Name, err)
			continue
		}
		if !near(r.Rf, v.Rf, 1e-4) || !near(slices.Min(r.RfCES[:]), v.Min, 5e-4) || !near(float64(r.CCT), v.CCT, 1e-4) {
			t.Errorf("%s: Rf %v min %v, want %v %v", v.Name, r.Rf, slices.Min(r.RfCES[:]), v.Rf, v.Min)
		}
		for i, k := range []int{0, 49, 98} {
			if !near(r.RfCES[k], v.Some[i], 5e-4) {
				t.Errorf("%s CES%d: %v, want %v", v.Name, k+1, r.RfCES[k], v.Some[i])
			}
		}
		if v.Margin < 0.0005 {
			continue // a sample on the edge of a bin: see the comment of TM30
		}
		if !near(r.Rg, v.Rg, 1e-4) || !slices.Equal(r.Counts[:], v.Counts) {
			t.Errorf("%s: Rg %v %v, want %v %v (margin %v)", v.Name, r.Rg, r.Counts, v.Rg, v.Counts, v.Margin)
		}
		for k := range quality.HueBins {
			if !near(r.RfH[k], v.RfH[k], 1e-3) || !near(r.RcsH[k], v.RcsH[k], 1e-3) || !near(r.RhsH[k], v.RhsH[k], 1e-5) {
				t.Errorf("%s bin %d: %v %v %v, want %v %v %v", v.Name, k+1, r.RfH[k], r.RcsH[k], r.RhsH[k], v.RfH[k], v.RcsH[k], v.RhsH[k])
			}
		}
	}
}

func TestSSIAgreesWithTheVectors(t *testing.T) {
	var f struct {
		Cases []struct {
			Test, Source string
			Reference    struct {
				Kind, Name, Source string
				CCT                float64
			}
			SSI     float64
			Rounded int
		}
	}
	vectors(t, "ssi.json", &f)
	if len(f.Cases) < 38 {
		t.Fatal("vectors are missing")
	}
	grid := spectrum.Grid{StartNM: 375, StepNM: 1, N: 301}
	for _, v := range f.Cases {
		test := source(t, v.Test, v.Source)
		var ref spectrum.Spectrum
		var err error
		switch v.Reference.Kind {
		case "planck":
			ref, err = spectrum.Planck(colorcalc.Kelvin(v.Reference.CCT), grid)
		case "daylight":
			ref, err = spectrum.Daylight(colorcalc.Kelvin(v.Reference.CCT), grid)
		default:
			kind := "table"
			if _, ok := spectrum.Illuminant(v.Reference.Name); !ok {
				kind = "synthetic"
			}
			ref = source(t, v.Reference.Name, kind)
		}
		if err != nil {
			t.Fatal(v, err)
		}
		got, err := quality.SSI(test, ref)
		if err != nil || !near(got, v.SSI, 1e-5) || quality.RoundSSI(got) != v.Rounded {
			t.Errorf("%s to %v: %v, %v, want %v", v.Test, v.Reference, got, err, v.SSI)
		}
		// Levels do not matter.
		if again, _ := quality.SSI(test.Scale(37), ref.Scale(0.01)); !near(again, got, 1e-9) {
			t.Errorf("%s: %v at another level, %v before", v.Test, again, got)
		}
	}
	if _, name, err := quality.SSIReference(source(t, "A", "table")); err != nil || name != "P2856" {
		t.Errorf("the reference of A is %q, %v", name, err)
	}
	if _, name, err := quality.SSIReference(source(t, "D65", "table")); err != nil || name != "D6504" {
		t.Errorf("the reference of D65 is %q, %v", name, err)
	}
}

func TestTLCIAgreesWithTheVectors(t *testing.T) {
	var f struct {
		Sources []struct {
			Name, Source string
			Qa, DEa, CCT float64
			DE           []float64
			Excluded     []int
			OnDaylight   bool `json:"on_daylight_locus"`
		}
	}
	vectors(t, "tlci.json", &f)
	if len(f.Sources) < 28 {
		t.Fatal("vectors are missing")
	}
	for _, v := range f.Sources {
		r, err := quality.TLCI(source(t, v.Name, v.Source))
		if err != nil {
			t.Errorf("%s: %v", v.Name, err)
			continue
		}
		if !near(r.Qa, v.Qa, 1e-4) || !near(r.DEa, v.DEa, 1e-5) || !near(float64(r.CCT), v.CCT, 0.001) || r.OnDaylight != v.OnDaylight || !slices.Equal(r.Excluded, v.Excluded) && len(r.Excluded)+len(v.Excluded) > 0 {
			t.Errorf("%s: %+v, want %+v", v.Name, r, v)
		}
		for i, want := range v.DE {
			if !near(r.DE[i], want, 1e-4) {
				t.Errorf("%s sample %d: %v, want %v", v.Name, i+1, r.DE[i], want)
			}
		}
	}
}

// A light that is its own reference is perfect by every measure, at any level.
func TestReferenceLightsArePerfect(t *testing.T) {
	for _, k := range []colorcalc.Kelvin{2000, 3200, 5500, 9000} {
		s, err := spectrum.Planck(k, spectrum.Visible5)
		if k >= 5000 {
			s, err = spectrum.Daylight(k, spectrum.Visible5)
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, level := range []float64{1e-6, 1, 1e6} {
			lit := s.Scale(level)
			c, err1 := quality.CRI(lit)
			f, err2 := quality.TM30(lit)
			if err := errors.Join(err1, err2); err != nil {
				t.Fatal(err)
			}
			if c.Ra < 99.95 || f.Rf < 99.9 || !near(f.Rg, 100, 0.05) {
				t.Errorf("%v K: Ra %v Rf %v Rg %v", k, c.Ra, f.Rf, f.Rg)
			}
		}
	}
}

func TestWhatIsNoLightHasNoQuality(t *testing.T) {
	dark := spectrum.Spectrum{StartNM: 380, StepNM: 5, Values: make([]float64, 81)}
	blue := spectrum.Gaussian(450, 20, spectrum.Visible5)
	for name, s := range map[string]spectrum.Spectrum{"dark": dark, "blue": blue, "empty": {}, "broken": {StartNM: 380, StepNM: 5, Values: []float64{1, math.NaN()}}} {
		_, err1 := quality.CRI(s)
		_, err2 := quality.TM30(s)
		if err1 == nil || err2 == nil {
			t.Errorf("%s: %v, %v", name, err1, err2)
		}
		if name == "blue" && !(errors.Is(err1, quality.ErrNoReference) && errors.Is(err2, quality.ErrNoReference)) {
			t.Errorf("blue: %v, %v", err1, err2)
		}
		_, _ = quality.TLCI(s)
		if _, err := quality.SSI(s, source(t, "D65", "table")); (err == nil) != (name == "blue") {
			t.Errorf("%s: SSI error %v", name, err)
		}
	}
}

// The same lamp measured at 1 nm gives the figures of 5 nm, to what the
// broader samples can matter for a smooth spectrum.
func TestAFinerGridGivesTheSameQuality(t *testing.T) {
	lamp := func(g spectrum.Grid) spectrum.Spectrum { return spectrum.WhiteLED(450, 22, 0.9, 590, 140, g) }
	c5, err1 := quality.CRI(lamp(spectrum.Visible5))
	c1, err2 := quality.CRI(lamp(spectrum.Visible1))
	f5, err3 := quality.TM30(lamp(spectrum.Visible5))
	f1, err4 := quality.TM30(lamp(spectrum.Visible1))
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Fatal(err)
	}
	if !near(c1.Ra, c5.Ra, 0.2) || !near(f1.Rf, f5.Rf, 0.2) || !near(f1.Rg, f5.Rg, 0.2) {
		t.Errorf("Ra %v and %v, Rf %v and %v, Rg %v and %v", c1.Ra, c5.Ra, f1.Rf, f5.Rf, f1.Rg, f5.Rg)
	}
}

func BenchmarkCRI(b *testing.B) {
	s := source(b, "FL11", "table")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.CRI(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTM30(b *testing.B) {
	s := source(b, "FL11", "table")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.TM30(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSSI(b *testing.B) {
	s, r := source(b, "FL11", "table"), source(b, "D50", "table")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.SSI(s, r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTLCI(b *testing.B) {
	s := source(b, "FL11", "table")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.TLCI(s); err != nil {
			b.Fatal(err)
		}
	}
}
