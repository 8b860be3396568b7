package colorcalc_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
)

// vectors reads a file of expected values, made by an independent program
// whose locus agrees with 40-digit arithmetic to 5e-16; the file says how.
func vectors(t *testing.T, name string, out any) {
	t.Helper()
	data, err := os.ReadFile("../testdata/colour/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, out); err != nil {
		t.Fatal(err)
	}
}

// near compares with an absolute tolerance; TestNearRejects checks it.
func near(got, want, abs float64) bool { return math.Abs(got-want) <= abs }

func TestNearRejects(t *testing.T) {
	for _, c := range [][2]float64{{1, 2}, {2, 1}, {0, 1}, {math.NaN(), 1}, {1, math.NaN()}} {
		if near(c[0], c[1], 0.5) {
			t.Errorf("near accepts %v for %v", c[0], c[1])
		}
	}
}

// number accepts JSON numbers and the strings "NaN", "Inf", "-Inf".
type number float64

func (n *number) UnmarshalJSON(b []byte) error {
	var s string
	if json.Unmarshal(b, &s) == nil {
		v, err := strconv.ParseFloat(s, 64)
		*n = number(v)
		return err
	}
	return json.Unmarshal(b, (*float64)(n))
}

type cctRow struct {
	X, Y       number
	U, V       float64
	CCT, Duv   float64
	Meaningful bool `json:"cct_meaningful"`
	Why        string
	Nearest    *struct{ CCT, Duv float64 }
}

func TestCCTAgreesWithTheDefiningSum(t *testing.T) {
	var f struct {
		Valid   []cctRow
		Limit   []cctRow `json:"limit_of_validity"`
		Far     []cctRow
		Invalid []cctRow
	}
	vectors(t, "cct_duv.json", &f)
	if len(f.Valid) < 200 || len(f.Limit) < 10 || len(f.Far) < 8 || len(f.Invalid) < 10 {
		t.Fatal("vectors are missing")
	}
	for _, r := range append(f.Valid, f.Limit...) {
		c := colorcalc.XY{X: float64(r.X), Y: float64(r.Y)}
		far := math.Abs(r.Duv) > 0.05
		k, d, err := colorcalc.CCT(c)
		if far != errors.Is(err, colorcalc.ErrFarFromLocus) || !far && err != nil {
			t.Errorf("%v: error %v", c, err)
		}
		// The vectors carry 12 digits, so the tolerance is theirs, tightened.
		if !near(float64(k), r.CCT, 2e-8*r.CCT) || !near(float64(d), r.Duv, 2e-11) {
			t.Errorf("CCT(%v) = %.9f, %.12f, want %.9f, %.12f", c, k, d, r.CCT, r.Duv)
		}
		if far {
			if _, err := colorcalc.White(k, d); !errors.Is(err, colorcalc.ErrRange) {
				t.Errorf("White(%v, %v): error %v", k, d, err)
			}
			continue
		}
		w, err := colorcalc.White(colorcalc.Kelvin(r.CCT), colorcalc.Duv(r.Duv))
		if err != nil || !near(w.X, c.X, 1e-11) || !near(w.Y, c.Y, 1e-11) {
			t.Errorf("White(%v, %v) = %v, %v, want %v", r.CCT, r.Duv, w, err, c)
		}
	}
	for _, r := range f.Far {
		c := colorcalc.XY{X: float64(r.X), Y: float64(r.Y)}
		k, d, err := colorcalc.CCT(c)
		if err == nil {
			t.Errorf("%s: CCT(%v) = %v, %v, want an error", r.Why, c, k, d)
		}
		if errors.Is(err, colorcalc.ErrFarFromLocus) && (r.Nearest == nil ||
			!near(float64(k), r.Nearest.CCT, 1e-4) || !near(float64(d), r.Nearest.Duv, 1e-8)) {
			t.Errorf("%s: nearest %v %v, want %v", r.Why, k, d, r.Nearest)
		}
	}
	for _, r := range f.Invalid {
		if _, _, err := colorcalc.CCT(colorcalc.XY{X: float64(r.X), Y: float64(r.Y)}); !errors.Is(err, colorcalc.ErrNotAColour) {
			t.Errorf("%s: error %v", r.Why, err)
		}
	}
}

// planckUV sums Planck's law at one temperature, with nothing of the table.
func planckUV(t float64) colorcalc.UV60 {
	m := cie.CMF2()
	var c colorcalc.XYZ
	for i := range m.Len() {
		nm := 360 + float64(i)
		p := math.Pow(nm, -5) / math.Expm1(1.4388e7/(nm*t)) * 1e20
		c = c.Add(colorcalc.XYZ{X: m.Columns[0][i], Y: m.Columns[1][i], Z: m.Columns[2][i]}.Scale(p))
	}
	return c.XY().UV60()
}

func TestTheLocusBetweenTheEntriesIsPlancksLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := math.Exp(rapid.Float64Range(math.Log(1000), math.Log(25000)).Draw(t, "ln K"))
		w, err := colorcalc.White(colorcalc.Kelvin(k), 0)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := w.UV60(), planckUV(k); !near(got.U, want.U, 1e-13) || !near(got.V, want.V, 1e-13) {
			t.Fatalf("%v K: %v, want %v", k, got, want)
		}
	})
}

// Closing needs a unique foot, which holds where White gives a colour.
func TestWhiteAndCCTCloseOverTheWholeRange(t *testing.T) {
	refused := 0
	for ln := math.Log(1000.0); ln <= math.Log(25000.0); ln += 0.0313 {
		for d := -0.05; d <= 0.0501; d += 0.0025 {
			k := colorcalc.Kelvin(math.Exp(ln))
			w, err := colorcalc.White(k, colorcalc.Duv(d))
			if err != nil {
				refused++
				continue
			}
			k2, d2, err := colorcalc.CCT(w)
			if err != nil || !near(float64(k2), float64(k), 1e-6) || !near(float64(d2), d, 1e-12) {
				t.Errorf("%v K %+.4f comes back as %v K %+.6f, %v", k, d, k2, d2, err)
			}
		}
	}
	if refused > 650 {
		t.Errorf("%d points refused", refused)
	}
}

// A step of 1e-9 in x may not move the temperature by more than its slope
// allows, whichever entry of the table the search starts from.
func TestCCTIsContinuous(t *testing.T) {
	last := colorcalc.Kelvin(0)
	for i := range 40000 {
		x := 0.29 + float64(i)*4e-6
		c := colorcalc.XY{X: x, Y: -2.5*x*x + 2.3*x - 0.13}
		k, _, err := colorcalc.CCT(c)
		if err != nil {
			t.Fatal(c, err)
		}
		if last != 0 && !(k < last && float64(last-k) < 4e-4*float64(k)) {
			t.Fatalf("from %v to %v K at x = %v", last, k, x)
		}
		last = k
	}
}

func TestWhiteRefusesWhatIsOutOfRange(t *testing.T) {
	nan := math.NaN()
	for _, c := range [][2]float64{{999, 0}, {25001, 0}, {0, 0}, {-5600, 0}, {nan, 0}, {5600, nan}, {5600, 0.051}, {5600, -0.051}, {math.Inf(1), 0}} {
		if w, err := colorcalc.White(colorcalc.Kelvin(c[0]), colorcalc.Duv(c[1])); !errors.Is(err, colorcalc.ErrRange) || w != (colorcalc.XY{}) {
			t.Errorf("White(%v, %v) = %v, %v", c[0], c[1], w, err)
		}
	}
}

func FuzzCCT(f *testing.F) {
	f.Add(0.3127, 0.3290)       // daylight
	f.Add(0.24, 0.234)          // hot end of the locus
	f.Add(0.7347, 0.2653)       // red end of the diagram
	f.Add(5e-324, 5e-324)       // denormal
	f.Add(math.MaxFloat64, 0.3) // overflow
	f.Fuzz(func(t *testing.T, x, y float64) {
		k, d, err := colorcalc.CCT(colorcalc.XY{X: x, Y: y})
		if err == nil && !(k > 999.9 && k < 25001 && math.Abs(float64(d)) <= 0.0500001) {
			t.Errorf("CCT(%v, %v) = %v, %v without an error", x, y, k, d)
		}
		colorcalc.Describe(colorcalc.XY{X: x, Y: y}, colorcalc.XY{X: 0.3, Y: 0.3})
	})
}

func BenchmarkCCT(b *testing.B) {
	b.ReportAllocs()
	points := make([]colorcalc.XY, 256)
	for i := range points {
		points[i], _ = colorcalc.White(colorcalc.Kelvin(2000+40*i), colorcalc.Duv(float64(i%40-20)*0.001))
	}
	for i := 0; b.Loop(); i++ {
		if _, _, err := colorcalc.CCT(points[i&255]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWhite(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := colorcalc.White(5600, 0.001); err != nil {
			b.Fatal(err)
		}
	}
}
