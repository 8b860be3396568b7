package colorcalc_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
)

func xyz(v []float64) colorcalc.XYZ { return colorcalc.XYZ{X: v[0], Y: v[1], Z: v[2]} }

func nearRel(got, want float64) bool { return near(got, want, 1e-9*(1+math.Abs(want))) }

func nearAll(got, want []float64) bool {
	for i := range want {
		if len(got) != len(want) || !nearRel(got[i], want[i]) {
			return false
		}
	}
	return len(want) > 0
}

func TestConversionsAreExact(t *testing.T) {
	var f struct {
		Whites       map[string][]float64
		Chromaticity []struct{ XYZ, XY, UV1960, UpVp1976 []float64 }
		Lab          []struct {
			XYZ, Lab, LCh []float64
			White         string
		}
		Delta []struct {
			XY1, XY2 []float64
			Delta    float64 `json:"delta_uvp"`
		} `json:"delta_uv_prime"`
		Mired []struct{ CCT, Mired float64 }
		Shift []struct {
			CCT    float64
			Shift  float64 `json:"mired_shift"`
			Result float64 `json:"result_cct"`
		} `json:"mired_shift"`
		Tint []struct {
			CCT float64
			Duv float64 `json:"duv_centre"`
		} `json:"ansi_c78_377_target"`
		RGB []struct{ RGB, XYZ, HSV, HSI []float64 }
	}
	vectors(t, "conversions.json", &f)
	if len(f.Chromaticity) < 10 || len(f.Lab) < 10 || len(f.RGB) < 11 || len(f.Tint) < 7 {
		t.Fatal("vectors are missing")
	}
	for _, r := range f.Chromaticity {
		c := xyz(r.XYZ)
		xy, uv := c.XY(), c.UV()
		if !nearAll([]float64{xy.X, xy.Y}, r.XY) || !nearAll([]float64{uv.U, uv.V}, r.UpVp1976) ||
			!nearAll([]float64{xy.UV60().U, xy.UV60().V}, r.UV1960) || !nearAll([]float64{uv.UV60().U, uv.UV60().V}, r.UV1960) {
			t.Errorf("%v: %v %v %v", r, xy, uv, xy.UV60())
		}
		for name, back := range map[string]colorcalc.XYZ{"xy": xy.XYZ(c.Y), "u'v'": uv.XYZ(c.Y), "uv": xy.UV60().XY().XYZ(c.Y)} {
			if !nearAll([]float64{back.X, back.Y, back.Z}, r.XYZ) {
				t.Errorf("%v back from %s: %v", r.XYZ, name, back)
			}
		}
	}
	for _, r := range f.Lab {
		w := xyz(f.Whites[r.White])
		l, ok := xyz(r.XYZ).Lab(w)
		a, b, c := l.LCh()
		back := l.XYZ(w)
		if !ok || !nearAll([]float64{l.L, l.A, l.B}, r.Lab) || !nearAll([]float64{back.X, back.Y, back.Z}, r.XYZ) {
			t.Errorf("Lab of %v: %v, want %v", r.XYZ, l, r.Lab)
		}
		if !nearRel(a, r.LCh[0]) || !nearRel(b, r.LCh[1]) || b > 1e-9 && !nearRel(c, r.LCh[2]) {
			t.Errorf("LCh of %v: %v %v %v, want %v", r.XYZ, a, b, c, r.LCh)
		}
	}
	for _, r := range f.Delta {
		p, q := colorcalc.XY{X: r.XY1[0], Y: r.XY1[1]}, colorcalc.XY{X: r.XY2[0], Y: r.XY2[1]}
		if !nearRel(p.UV().Dist(q.UV()), r.Delta) {
			t.Errorf("%v to %v: %v, want %v", p, q, p.UV().Dist(q.UV()), r.Delta)
		}
	}
	for _, r := range f.Mired {
		if !nearRel(float64(colorcalc.Kelvin(r.CCT).Mired()), r.Mired) {
			t.Error(r)
		}
	}
	for _, r := range f.Shift {
		if got := colorcalc.Kelvin(r.CCT).Shift(colorcalc.Mired(r.Shift)); !nearRel(float64(got), r.Result) {
			t.Errorf("%v gives %v", r, got)
		}
	}
	for _, r := range f.Tint {
		if got := colorcalc.TargetTint(colorcalc.Kelvin(r.CCT)); !nearRel(float64(got), r.Duv) {
			t.Errorf("%v gives %v", r, got)
		}
	}
	for _, r := range f.RGB {
		c := colorcalc.RGB{R: r.RGB[0], G: r.RGB[1], B: r.RGB[2]}
		got := colorcalc.BT709.XYZ(c)
		back := colorcalc.BT709.RGB(got)
		h, s, v := c.HSV()
		if !nearAll([]float64{got.X, got.Y, got.Z}, r.XYZ) || !nearAll([]float64{back.R, back.G, back.B}, r.RGB) || !nearAll([]float64{h, s, v}, r.HSV) {
			t.Errorf("%v: %v %v, HSV %v %v %v", r, got, back, h, s, v)
		}
		if d := colorcalc.FromHSV(h, s, v); !nearAll([]float64{d.R, d.G, d.B}, r.RGB) {
			t.Errorf("%v from HSV: %v", r, d)
		}
		if h, s, i := c.HSI(); !nearAll([]float64{h, s, i}, r.HSI) {
			t.Errorf("%v: HSI %v %v %v", r, h, s, i)
		}
	}
}

func TestWhatIsUndefinedGivesNoReading(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []colorcalc.XYZ{{}, {X: nan, Y: 1, Z: 1}, {X: inf, Y: 1, Z: 1}, {X: -1, Y: -1, Z: -1}} {
		if c.XY() != (colorcalc.XY{}) || c.UV() != (colorcalc.UV{}) {
			t.Errorf("%v: %v %v", c, c.XY(), c.UV())
		}
	}
	for _, c := range []colorcalc.XY{{}, {X: nan, Y: .3}, {X: .3, Y: nan}, {X: 1.5}, {X: inf, Y: inf}, {X: -inf, Y: .3}} {
		if c.Valid() || c.UV() != (colorcalc.UV{}) || c.UV60() != (colorcalc.UV60{}) {
			t.Errorf("%v: %v", c, c.UV())
		}
	}
	if c := (colorcalc.XY{X: .3}); c.Valid() || c.XYZ(1) != (colorcalc.XYZ{}) {
		t.Error("y = 0 has a way back")
	}
	if c := (colorcalc.XY{X: .7, Y: .4}); c.Valid() {
		t.Error("x + y > 1 is valid")
	}
}

func TestDaylightLocusBothWays(t *testing.T) {
	var f struct {
		Points    []struct{ CCT, XD, YD, M1, M2 float64 }
		Tabulated []struct{ CCT, M1, M2 float64 }
		Invalid   []struct{ CCT number }
	}
	vectors(t, "daylight.json", &f)
	if len(f.Points) < 16 || len(f.Tabulated) < 4 || len(f.Invalid) < 5 {
		t.Fatal("vectors are missing")
	}
	for _, p := range f.Points {
		c, err := colorcalc.Daylight(colorcalc.Kelvin(p.CCT))
		m1, m2 := colorcalc.DaylightFactors(c)
		if err != nil || !near(c.X, p.XD, 1e-11) || !near(c.Y, p.YD, 1e-11) || !near(m1, p.M1, 1e-8) || !near(m2, p.M2, 1e-8) {
			t.Errorf("%v K: %v %v %v, %v, want %v", p.CCT, c, m1, m2, err, p)
		}
		if k, err := colorcalc.DaylightCCT(c); err != nil || !near(float64(k), p.CCT, 1e-6) {
			t.Errorf("%v K comes back as %v, %v", p.CCT, k, err)
		}
	}
	for _, p := range f.Tabulated {
		c, _ := colorcalc.Daylight(colorcalc.Kelvin(p.CCT))
		if m1, m2 := colorcalc.DaylightFactors(c); !near(m1, p.M1, 5.1e-4) || !near(m2, p.M2, 5.1e-4) {
			t.Errorf("%v: %v %v", p, m1, m2)
		}
	}
	for _, p := range f.Invalid {
		if _, err := colorcalc.Daylight(colorcalc.Kelvin(p.CCT)); err == nil {
			t.Errorf("daylight of %v K", p.CCT)
		}
	}
}

func TestCIEDE2000GivesThePublishedPairs(t *testing.T) {
	var f struct {
		Pairs []struct {
			Lab1, Lab2 []float64
			Published  float64
			DE         float64 `json:"de2000"`
		}
	}
	vectors(t, "deltae.json", &f)
	if len(f.Pairs) != 34 {
		t.Fatalf("%d pairs", len(f.Pairs))
	}
	for i, p := range f.Pairs {
		a, b := colorcalc.Lab{L: p.Lab1[0], A: p.Lab1[1], B: p.Lab1[2]}, colorcalc.Lab{L: p.Lab2[0], A: p.Lab2[1], B: p.Lab2[2]}
		for _, got := range []float64{colorcalc.DeltaE2000(a, b), colorcalc.DeltaE2000(b, a)} {
			if !near(got, p.Published, 5.01e-5) || !near(got, p.DE, 1e-9) {
				t.Errorf("pair %d: %v, want %v (%v)", i+1, got, p.Published, p.DE)
			}
		}
	}
}

func TestCIEDE2000IsASymmetricDistance(t *testing.T) {
	lab := rapid.Custom(func(t *rapid.T) colorcalc.Lab {
		f := rapid.Float64Range(-128, 128)
		return colorcalc.Lab{L: math.Abs(f.Draw(t, "L")), A: f.Draw(t, "a"), B: f.Draw(t, "b")}
	})
	rapid.Check(t, func(t *rapid.T) {
		p, q := lab.Draw(t, "p"), lab.Draw(t, "q")
		d := colorcalc.DeltaE2000(p, q)
		if !(d >= 0) || !near(d, colorcalc.DeltaE2000(q, p), 1e-9) || colorcalc.DeltaE2000(p, p) != 0 {
			t.Fatalf("%v %v: %v", p, q, d)
		}
	})
}

// CIE TN 001 puts one step at 0.0011 in u'v'; the ellipses average near it.
func TestStepsOfBothKindsAgreeRoughly(t *testing.T) {
	for _, e := range colorcalc.Ellipses {
		if e.Steps(e.Centre) != 0 {
			t.Errorf("%s: centre is not 0 steps", e.Name)
		}
		// Area of the ellipse in x, y by its determinant; in u'v' by the
		// Jacobian of the projection, taken by differences.
		area := math.Pi / math.Sqrt(e.G11*e.G22-e.G12*e.G12)
		uv := func(dx, dy float64) colorcalc.UV {
			return colorcalc.XY{X: e.Centre.X + dx, Y: e.Centre.Y + dy}.UV()
		}
		const h = 1e-6
		a, b, o := uv(h, 0), uv(0, h), uv(0, 0)
		j := math.Abs((a.U-o.U)*(b.V-o.V)-(a.V-o.V)*(b.U-o.U)) / (h * h)
		if r := math.Sqrt(area * j / math.Pi); r < 0.0007 || r > 0.0013 {
			t.Errorf("%s: one step is %v in u'v'", e.Name, r)
		}
	}
}

func TestDescribeSpeaksAsATechnicianDoes(t *testing.T) {
	at := func(k colorcalc.Kelvin, d colorcalc.Duv) colorcalc.XY {
		c, err := colorcalc.White(k, d)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	cases := []struct {
		from, to colorcalc.XY
		want     string
	}{
		{at(5600, 0), at(5690, 0.0012), "90 K cooler, a touch green (Duv +0.0012)"},
		{at(5600, 0), at(5510, 0), "90 K warmer"},
		{at(3200, 0.001), at(3200, -0.002), "slightly magenta (Duv -0.0030)"},
		{at(3200, 0), at(3200, 0.01), "clearly green (Duv +0.0100)"},
		{at(3200, 0), at(3202, 0.0002), "the same to the eye"},
		{at(2700, 0), at(6500, 0), "3800 K cooler"},
		{at(5600, 0), colorcalc.XY{X: .15, Y: .06}, "towards blue"},
		{at(5600, 0), colorcalc.XY{X: .64, Y: .33}, "towards red"},
		{at(5600, 0), colorcalc.XY{}, "no reading"},
		{colorcalc.XY{X: .64, Y: .33}, colorcalc.XY{X: .64, Y: .33}, "the same to the eye"},
	}
	for _, c := range cases {
		if got := colorcalc.Describe(c.from, c.to); got != c.want && !(strings.HasPrefix(c.want, "towards") && strings.HasSuffix(got, c.want)) {
			t.Errorf("%v to %v: %q, want %q", c.from, c.to, got, c.want)
		}
	}
}

func TestRGBSpacesAreKnownByTheirUsualNames(t *testing.T) {
	for name, want := range map[string]*colorcalc.RGBSpace{"sRGB": colorcalc.SRGB, "rec.709": colorcalc.BT709, "bt2020": colorcalc.BT2020, "P3": colorcalc.P3D65, "p3-d65": colorcalc.P3D65, "paint": nil, "": nil} {
		if got := colorcalc.RGBSpaceByName(name); got != want {
			t.Errorf("%q: %v", name, got)
		}
	}
	for _, s := range colorcalc.RGBSpaces {
		if c := s.XYZ(colorcalc.RGB{R: 1, G: 1, B: 1}); !near(c.Y, 1, 1e-12) || !near(c.XY().X, .3127, 1e-12) {
			t.Errorf("%s: white %v", s.Name, c)
		}
		for v := 0.0; v <= 1; v += 0.01 {
			if !near(s.Encode(s.Decode(v)), v, 1e-7) {
				t.Errorf("%s: %v comes back as %v", s.Name, v, s.Encode(s.Decode(v)))
			}
		}
	}
}

func TestHSIComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 359.99).Draw(t, "h")
		s := rapid.Float64Range(0.01, 1).Draw(t, "s")
		h2, s2, i2 := colorcalc.FromHSI(h, s, 0.5).HSI()
		if d := math.Mod(h2-h+540, 360) - 180; !near(d, 0, 1e-9) || !near(s2, s, 1e-12) || !near(i2, 0.5, 1e-12) {
			t.Fatalf("%v %v comes back as %v %v %v", h, s, h2, s2, i2)
		}
	})
}

// A light made k times as strong keeps its chromaticity, its temperature and
// its place in a mixture: nothing may hang on the unit of Y.
func TestChromaticityKnowsNoLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.01, 100)
		c := colorcalc.XYZ{X: f.Draw(t, "X"), Y: f.Draw(t, "Y"), Z: f.Draw(t, "Z")}
		k := math.Exp(rapid.Float64Range(-20, 20).Draw(t, "ln k"))
		a, b := c.UV(), c.Scale(k).UV()
		if a.Dist(b) > 1e-14 {
			t.Fatalf("%v and %v times as strong: %v, %v", c, k, a, b)
		}
		// The mixture of two lights lies on the line between them in x, y.
		d := colorcalc.XYZ{X: f.Draw(t, "X2"), Y: f.Draw(t, "Y2"), Z: f.Draw(t, "Z2")}
		p, q, m := c.XY(), d.XY(), c.Add(d).XY()
		if cross := (q.X-p.X)*(m.Y-p.Y) - (q.Y-p.Y)*(m.X-p.X); !near(cross, 0, 1e-14) {
			t.Fatalf("%v + %v lies %v off the line", c, d, cross)
		}
	})
}

// Turned about, the difference changes its sign and its words.
func TestDescribeIsAntisymmetric(t *testing.T) {
	swap := strings.NewReplacer("cooler", "warmer", "warmer", "cooler", "green", "magenta", "magenta", "green", "+", "-", "-", "+")
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) colorcalc.XY {
			c, err := colorcalc.White(colorcalc.Kelvin(rapid.Float64Range(2400, 15000).Draw(t, name+" K")), colorcalc.Duv(rapid.Float64Range(-.01, .01).Draw(t, name+" Duv")))
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		a, b := draw("a"), draw("b")
		if got, want := colorcalc.Describe(b, a), swap.Replace(colorcalc.Describe(a, b)); got != want {
			t.Fatalf("%q one way, %q the other", want, got)
		}
	})
}
