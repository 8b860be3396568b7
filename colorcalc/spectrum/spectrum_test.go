package spectrum_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
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

// source finds a spectrum of the vectors by name.
func source(t testing.TB, name, kind string) spectrum.Spectrum {
	t.Helper()
	if kind == "table" {
		s, ok := spectrum.Illuminant(name)
		if !ok {
			t.Fatalf("no illuminant %q", name)
		}
		return s
	}
	var f struct{ Spectra map[string][]float64 }
	vectors(t, "synthetic_spectra.json", &f)
	s, err := spectrum.New(380, 5, f.Spectra[name])
	if err != nil {
		t.Fatal(name, err)
	}
	return s
}

func TestSpectraIntegrateToTheExpectedTristimulus(t *testing.T) {
	type sums struct{ XYZ, XY []float64 }
	var f struct {
		Spectra []struct {
			Name, Source string
			Deg2, Deg10  sums
			CCT, Duv     float64
			Published    []float64 `json:"published_xy"`
		}
		Absolute []struct {
			Name, Source string
			Scale        float64 `json:"scale_W_m2_nm"`
			Lux          float64 `json:"illuminance_lx"`
			Power        float64 `json:"irradiance_W_m2"`
		}
	}
	vectors(t, "spectra.json", &f)
	if len(f.Spectra) < 37 || len(f.Absolute) < 3 {
		t.Fatal("vectors are missing")
	}
	for _, v := range f.Spectra {
		s := source(t, v.Name, v.Source)
		for o, want := range map[spectrum.Observer]sums{spectrum.Deg2: v.Deg2, spectrum.Deg10: v.Deg10} {
			c := s.XYZ(o)
			c = c.Scale(100 / c.Y)
			if !near(c.X, want.XYZ[0], 1e-7*want.XYZ[0]) || !near(c.Z, want.XYZ[2], 1e-7*want.XYZ[2]) ||
				!near(c.XY().X, want.XY[0], 1e-8) || !near(c.XY().Y, want.XY[1], 1e-8) {
				t.Errorf("%s observer %d: %v %v, want %v", v.Name, o, c, c.XY(), want)
			}
		}
		c, err := s.XY()
		if err != nil {
			t.Fatal(v.Name, err)
		}
		k, d, err := colorcalc.CCT(c)
		if err != nil || !near(float64(k), v.CCT, 2e-7*v.CCT) || !near(float64(d), v.Duv, 1e-8) {
			t.Errorf("%s: %v K %v, %v, want %v %v", v.Name, k, d, err, v.CCT, v.Duv)
		}
		if v.Published != nil && (!near(c.X, v.Published[0], 1e-4) || !near(c.Y, v.Published[1], 1e-4)) {
			t.Errorf("%s: %v, published %v", v.Name, c, v.Published)
		}
	}
	for _, v := range f.Absolute {
		s := source(t, v.Name, v.Source).Scale(v.Scale)
		var in []float64 // the vectors count irradiance over the observer's range
		for i, p := range s.Values {
			if nm := s.NM(i); nm >= 360 && nm <= 830 {
				in = append(in, p)
			}
		}
		visible := spectrum.Spectrum{StartNM: max(360, s.StartNM), StepNM: s.StepNM, Values: in}
		if !near(s.XYZ(spectrum.Deg2).Y, v.Lux, 1e-7*v.Lux) || !near(visible.Power(), v.Power, 1e-7*v.Power) {
			t.Errorf("%s: %v lx, %v W/m2, want %v, %v", v.Name, s.XYZ(spectrum.Deg2).Y, visible.Power(), v.Lux, v.Power)
		}
	}
}

// The white points that CIE 15 publishes were made over 380-780 nm at 5 nm.
func TestPublishedWhitePointsAreMetToTheLastDigit(t *testing.T) {
	for name, want := range map[string][2]float64{"A": {.44758, .40745}, "D50": {.34567, .35851}, "D55": {.33243, .34744}, "D65": {.31272, .32903}, "D75": {.29903, .31488}} {
		s, _ := spectrum.Illuminant(name)
		c, err := s.Linear(spectrum.Visible5).XY()
		if err != nil || !near(c.X, want[0], 5.1e-6) || !near(c.Y, want[1], 5.1e-6) {
			t.Errorf("%s: %v, want %v", name, c, want)
		}
	}
}

func TestEmbeddedTablesHaveTheirPublishedSums(t *testing.T) {
	sum := func(v []float64) (s float64) {
		for _, x := range v {
			s += x
		}
		return s
	}
	for k, want := range []float64{106.865469, 106.856917, 106.892251} {
		if got := sum(cie.CMF2().Columns[k]); !near(got, want, 1e-6) {
			t.Errorf("2 degrees, column %d: %v, want %v", k, got, want)
		}
	}
	for k, want := range []float64{116.648520, 116.661877, 116.673981} {
		if got := sum(cie.CMF10().Columns[k]); !near(got, want, 1e-6) {
			t.Errorf("10 degrees, column %d: %v, want %v", k, got, want)
		}
	}
	if n := cie.Daylight().Len(); n != 107 {
		t.Errorf("daylight components: %d rows", n)
	}
	if n := len(spectrum.Illuminants()); n != 5+12+9 {
		t.Errorf("%d illuminants", n)
	}
}

func TestDaylightSpectraAreThoseOfTheStandard(t *testing.T) {
	var f struct {
		Points []struct {
			CCT    float64
			S      map[string]float64
			XYSpd  []float64 `json:"xy_from_spd"`
			M1, M2 float64
		}
	}
	vectors(t, "daylight.json", &f)
	if len(f.Points) < 16 {
		t.Fatal("vectors are missing")
	}
	for _, p := range f.Points {
		s, err := spectrum.Daylight(colorcalc.Kelvin(p.CCT), spectrum.Grid{StartNM: 300, StepNM: 5, N: 107})
		if err != nil {
			t.Fatal(err)
		}
		for nm, want := range p.S {
			var w float64
			if err := json.Unmarshal([]byte(nm), &w); err != nil {
				t.Fatal(err)
			}
			if got := s.At(w); !near(got, want, 1e-6) {
				t.Errorf("%v K at %v nm: %v, want %v", p.CCT, w, got, want)
			}
		}
		if c, _ := s.XY(); !near(c.X, p.XYSpd[0], 1e-8) || !near(c.Y, p.XYSpd[1], 1e-8) {
			t.Errorf("%v K: %v, want %v", p.CCT, c, p.XYSpd)
		}
	}
	for _, k := range []colorcalc.Kelvin{3999, 25001, 0, -5000, colorcalc.Kelvin(math.NaN())} {
		if _, err := spectrum.Daylight(k, spectrum.Visible5); !errors.Is(err, colorcalc.ErrRange) {
			t.Errorf("daylight of %v K: error %v", k, err)
		}
	}
}

func TestABlackBodyLiesOnTheLocus(t *testing.T) {
	for _, k := range []colorcalc.Kelvin{1000, 2856, 5600, 24999} {
		s, err := spectrum.Planck(k, spectrum.Visible1)
		if err != nil {
			t.Fatal(err)
		}
		c, _ := s.XY()
		k2, d, err := colorcalc.CCT(c)
		if err != nil || !near(float64(k2), float64(k), 1e-7*float64(k)) || !near(float64(d), 0, 1e-12) {
			t.Errorf("%v K: %v K %v, %v", k, k2, d, err)
		}
	}
}

// Sprague's interpolation reproduces polynomials up to the fourth degree; at
// the ends, where the standard extrapolates two points, straight lines only.
func TestResamplingKeepsACubic(t *testing.T) {
	f := func(nm float64) float64 { x := (nm - 550) / 100; return 5 + x - 2*x*x + x*x*x/4 }
	s := spectrum.Grid{StartNM: 380, StepNM: 10, N: 41}.On(f)
	fine := s.Resample(spectrum.Grid{StartNM: 380, StepNM: 1, N: 401})
	for i, v := range fine.Values {
		eps := 1e-9
		if nm := fine.NM(i); nm < 400 || nm > 760 {
			eps = 5e-3
		}
		if want := f(fine.NM(i)); !near(v, want, eps) {
			t.Fatalf("at %v nm: %v, want %v", fine.NM(i), v, want)
		}
	}
}

func TestACoarserGridKeepsThePowerOfALine(t *testing.T) {
	s := spectrum.Grid{StartNM: 380, StepNM: 1, N: 401}.On(func(float64) float64 { return 0 })
	s.Values[163] = 7 // 543 nm, between the points of the 5 nm grid
	if got := s.Resample(spectrum.Visible5).Power(); !near(got, 7, 1e-12) {
		t.Errorf("power %v, want 7", got)
	}
}

func TestTristimulusValuesAddAndScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.SliceOfN(rapid.Float64Range(0, 100), 81, 81)
		a := spectrum.Spectrum{StartNM: 380, StepNM: 5, Values: draw.Draw(t, "a")}
		b := spectrum.Spectrum{StartNM: 380, StepNM: 5, Values: draw.Draw(t, "b")}
		k := rapid.Float64Range(0, 1000).Draw(t, "k")
		for _, o := range []spectrum.Observer{spectrum.Deg2, spectrum.Deg10} {
			got, want := a.Add(b.Scale(k)).XYZ(o), a.XYZ(o).Add(b.XYZ(o).Scale(k))
			eps := 1e-10 * (1 + want.X + want.Y + want.Z)
			if !near(got.X, want.X, eps) || !near(got.Y, want.Y, eps) || !near(got.Z, want.Z, eps) {
				t.Fatalf("%v, want %v", got, want)
			}
		}
	})
}

// The same smooth lamp sampled on other grids keeps its chromaticity.
func TestTheGridHardlyMattersForASmoothLamp(t *testing.T) {
	lamp := func(g spectrum.Grid) spectrum.Spectrum { return spectrum.WhiteLED(450, 25, 0.8, 580, 130, g) }
	want, err := lamp(spectrum.Visible1).XY()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range []spectrum.Grid{{380, 5, 81}, {380, 0.5, 801}, {378.3, 3.3, 124}, {380, 10, 41}, {380, 4, 101}} {
		c, err := lamp(g).XY()
		if err != nil || c.UV().Dist(want.UV()) > 1e-4 {
			t.Errorf("%v: %v, want %v", g, c, want)
		}
	}
	var nm, v []float64 // uneven: the pitch of a grating
	for w := 375.0; w < 790; w += 1.1 + w/400 {
		nm = append(nm, w)
		v = append(v, lamp(spectrum.Grid{StartNM: w, StepNM: 1, N: 1}).Values[0])
	}
	s, err := spectrum.FromPoints(nm, v)
	if err != nil {
		t.Fatal(err)
	}
	if c, _ := s.XY(); c.UV().Dist(want.UV()) > 2e-5 {
		t.Errorf("uneven: %v, want %v", c, want)
	}
}

func TestNoLightIsAnErrorAndNeverAPanic(t *testing.T) {
	for _, s := range []spectrum.Spectrum{{}, {380, 5, nil}, {380, 5, make([]float64, 81)}, {380, 0, []float64{1, 2}}, {900, 5, []float64{1, 2, 3}}, {380, 5, []float64{math.NaN(), 1}}} {
		if c, err := s.XY(); !errors.Is(err, spectrum.ErrNoLight) {
			t.Errorf("%v: %v, %v", s, c, err)
		}
	}
}

// A grey filter measured on any grid and range takes the same share of every
// light, and no filter at all takes nothing.
func TestAGreyFilterChangesNoColour(t *testing.T) {
	s := source(t, "FL11", "table")
	want, _ := s.XY()
	for _, g := range []spectrum.Grid{{380, 5, 81}, {360, 1, 471}, {400, 10, 31}, {401.5, 2.5, 100}, {300, 0.5, 1200}} {
		lit := s.Through(g.On(func(float64) float64 { return 0.4 }))
		c, err := lit.XY()
		if err != nil || c.UV().Dist(want.UV()) > 1e-12 || !near(lit.XYZ(spectrum.Deg2).Y, 0.4*s.XYZ(spectrum.Deg2).Y, 1e-9*s.XYZ(spectrum.Deg2).Y) {
			t.Errorf("%v: %v, %v, want %v", g, c, err, want)
		}
	}
	if c, _ := s.Through(spectrum.Spectrum{}).XY(); c != want {
		t.Errorf("no filter: %v", c)
	}
	white := spectrum.Grid{StartNM: 380, StepNM: 5, N: 81}.On(func(float64) float64 { return 1 })
	if c := s.Reflected(white, spectrum.Deg2); !near(c.Y, 100, 1e-9) || !near(c.XY().X, want.X, 1e-12) {
		t.Errorf("the perfect diffuser: %v", c)
	}
}

// The correlated colour temperatures that CIE 15:2018 prints for its LED
// illuminants, in whole kelvin.
func TestLEDIlluminantsHaveTheirPublishedTemperatures(t *testing.T) {
	for name, want := range map[string]float64{"LED-B1": 2733, "LED-B2": 2998, "LED-B3": 4103, "LED-B4": 5109, "LED-B5": 6598, "LED-BH1": 2851, "LED-RGB1": 2840, "LED-V1": 2724, "LED-V2": 4070} {
		c, err := source(t, name, "table").XY()
		if err != nil {
			t.Fatal(name, err)
		}
		if k, _, err := colorcalc.CCT(c); err != nil || !near(float64(k), want, 0.6) {
			t.Errorf("%s: %.2f K, %v, want %v", name, float64(k), err, want)
		}
	}
}
