package expr_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
)

func near(got, want, abs float64) bool { return math.Abs(got-want) <= abs }

// The expected chromaticities are published white points and primaries, or
// follow from them by hand.
func TestEveryWayToNameAColour(t *testing.T) {
	white := func(k colorcalc.Kelvin, d colorcalc.Duv) colorcalc.XY {
		c, err := colorcalc.White(k, d)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	day := func(k colorcalc.Kelvin) colorcalc.XY { c, _ := colorcalc.Daylight(k); return c }
	d65 := colorcalc.XY{X: .31272, Y: .32903}
	cases := []struct {
		text string
		want colorcalc.XY
		y    float64
	}{
		{"D65", d65, 0}, {"d65", d65, 0}, {"D50", colorcalc.XY{X: .34567, Y: .35851}, 0}, {"D55", colorcalc.XY{X: .33243, Y: .34744}, 0},
		{"D75", colorcalc.XY{X: .29903, Y: .31488}, 0}, {"A", colorcalc.XY{X: .44758, Y: .40745}, 0},
		{"FL2", colorcalc.XY{X: .3721, Y: .3751}, 0}, {"fl11", colorcalc.XY{X: .3805, Y: .3769}, 0}, {"LED-B3", colorcalc.XY{X: .3756, Y: .3723}, 0},
		{"D60", colorcalc.XY{X: .32168, Y: .33767}, 0}, {"D6003K", colorcalc.XY{X: .32168, Y: .33767}, 0},
		{"D5600", day(5600), 0}, {"D5600K", day(5600), 0}, {"d5600 k", day(5600), 0},
		{"5600K", white(5600, 0), 0}, {" 5600 K ", white(5600, 0), 0}, {"5.6kK", white(5600, 0), 0}, {"cct 5600 K", white(5600, 0), 0}, {"5600 kelvin", white(5600, 0), 0},
		{"5600K +0.002", white(5600, .002), 0}, {"5600K-0.002", white(5600, -.002), 0}, {"5600K −0.002", white(5600, -.002), 0},
		{"5600K duv 0.002", white(5600, .002), 0}, {"5600K, Duv=-0.002", white(5600, -.002), 0}, {"5600 K tint -2e-3", white(5600, -.002), 0},
		{"200 mired", white(5000, 0), 0}, {"200mired +0.001", white(5000, .001), 0},
		{"xy 0.3127 0.3290", colorcalc.XY{X: .3127, Y: .3290}, 0}, {"xy(0.3127, 0.3290)", colorcalc.XY{X: .3127, Y: .3290}, 0},
		{"xy0.3127,0.3290", colorcalc.XY{X: .3127, Y: .3290}, 0}, {"XY:.3127;.3290", colorcalc.XY{X: .3127, Y: .3290}, 0},
		{"x=0.3127 y=0.3290", colorcalc.XY{X: .3127, Y: .3290}, 0}, {"x0.3127 y0.3290", colorcalc.XY{X: .3127, Y: .3290}, 0},
		{"xyY 0.3127 0.3290 1200", colorcalc.XY{X: .3127, Y: .3290}, 1200}, {"xyy 0.3127 0.3290 Y=1200", colorcalc.XY{X: .3127, Y: .3290}, 1200},
		{"uv 0.197839824821 0.468336302932", colorcalc.XY{X: 0.312726614681, Y: 0.329023130326}, 0},
		{"u'v' 0.197839824821 0.468336302932", colorcalc.XY{X: 0.312726614681, Y: 0.329023130326}, 0},
		{"u′ 0.197839824821 v′ 0.468336302932", colorcalc.XY{X: 0.312726614681, Y: 0.329023130326}, 0},
		{"uv60 0.197839824821 0.312224201955", colorcalc.XY{X: 0.312726614681, Y: 0.329023130326}, 0},
		{"XYZ 95.047 100 108.883", colorcalc.XY{X: 0.312726614681, Y: 0.329023130326}, 100},
		{"rgb 1 0 0 in sRGB", colorcalc.XY{X: .64, Y: .33}, 0}, {"rgb(100%, 100%, 100%) in P3-D65", colorcalc.XY{X: .3127, Y: .3290}, 0},
		{"rgb 0 1 0 in BT.2020", colorcalc.XY{X: .17, Y: .797}, 0}, {"rgb 0 0 1 in rec709", colorcalc.XY{X: .15, Y: .06}, 0},
		{"hs 120deg 100% in sRGB", colorcalc.XY{X: .30, Y: .60}, 0}, {"hs 240° 1 in P3", colorcalc.XY{X: .15, Y: .06}, 0}, {"hs 77 0 in 2020", colorcalc.XY{X: .3127, Y: .3290}, 0},
		{"hsi 0 1 in BT709", colorcalc.XY{X: .64, Y: .33}, 0}, {"hsi 240 1 in BT709", colorcalc.XY{X: .15, Y: .06}, 0},
		{"#ffffff", colorcalc.XY{X: .3127, Y: .3290}, 0}, {"#F00", colorcalc.XY{X: .64, Y: .33}, 0}, {"#0f0 in P3-D65", colorcalc.XY{X: .265, Y: .690}, 0},
	}
	for _, c := range cases {
		got, err := expr.Parse(c.text)
		eps := 5.1e-6
		if strings.HasPrefix(strings.ToUpper(c.text), "FL") || strings.HasPrefix(c.text, "LED") || strings.HasPrefix(c.text, "D60") {
			eps = 5.1e-5 // published to four decimals, D60 by its spectrum
		}
		if strings.HasPrefix(strings.ToUpper(c.text), "D60") {
			eps = 3e-4
		}
		if err != nil || !near(got.XY.X, c.want.X, eps) || !near(got.XY.Y, c.want.Y, eps) || got.Y != c.y {
			t.Errorf("%q: %v, %v, want %v %v", c.text, got, err, c.want, c.y)
		}
		if got.Text != strings.TrimSpace(c.text) {
			t.Errorf("%q is kept as %q", c.text, got.Text)
		}
	}
}

func TestErrorsPointAtTheCharacter(t *testing.T) {
	cases := []struct {
		text string
		col  int
		msg  string
	}{
		{"", 1, "missing"},
		{"5600", 5, "unit"},
		{"0.3127 0.3290", 8, "unit"},
		{"5600Q", 5, ""},
		{"5600K green", 7, "nothing more"},
		{"5600K +0.2", 7, "Duv"},
		{"500K", 1, "outside"},
		{"30000K", 1, "outside"},
		{"1000K +0.04", 7, "not a possible"},
		{"0 mired", 1, "no colour"},
		{"-5 mired", 1, "no colour"},
		{"1e-320 mired", 1, "outside"},
		{"XYZ 95,05 100", 5, "may be one number or two"},
		{"XYZ 95,05 100 108,88", 5, "may be one number or two"},
		{"xy 0,3127 0,3290", 4, "may be one number or two"},
		{"xy 0,3127, 0,3290", 4, "may be one number or two"},
		{"xy(0,3127;0,3290)", 4, "may be one number or two"},
		{"xy 0,3127,0,3290", 11, "nothing more"},
		{"5600K 0,002", 7, "may be one number or two"},
		{"XYZ 1e308 1e308 1e308", 1, "no light"},
		{"XYZ 1e308 1e307 0", 1, "no light"},
		{"XYZ 1 1e-320 1", 1, "no possible colour"},
		{"xyY 0.3 0.3 1e308", 1, "no light"},
		{"xy 0.3 1e-320", 1, "no possible colour"},
		{"xy 0.3", 7, "want a number"},
		{"xy 0.7 0.4", 1, "no possible colour"},
		{"xy 0.3 0", 1, "no possible colour"},
		{"xy 0.3 0.3 0.3", 12, "nothing more"},
		{"xy 0.3.1 0.3", 4, "not a number"},
		{"XYZ 0 0 0", 1, "no possible light"},
		{"xyY 0.3 0.3 -5", 1, "level"},
		{"D30", 1, "daylight is defined"},
		{"D65 D50", 5, "nothing more"},
		{"FL13", 1, "no colour is called"},
		{"warm", 1, "no colour is called"},
		{"rgb 1 0 0", 10, "RGB space"},
		{"rgb 1 0 0 in paint", 14, "no such RGB space"},
		{"rgb 0 0 0 in sRGB", 1, "black"},
		{"rgb 2 0 0 in sRGB", 5, "between 0 and 1"},
		{"hs 400 1 in sRGB", 4, "hue"},
		{"#ff88", 1, "hex"},
		{"#gggggg", 1, "hex"},
		{"5600K 🎭", 7, "unexpected"},
		{"♥", 1, "unexpected"},
		{"reading wall", 1, "no saved readings"},
		{strings.Repeat("9", 300), 1, "longer"},
	}
	for _, c := range cases {
		got, err := expr.Parse(c.text)
		var e *expr.Error
		if !errors.As(err, &e) {
			t.Errorf("%q: %v, %v", c.text, got, err)
			continue
		}
		if e.Column() != c.col || !strings.Contains(e.Msg, c.msg) {
			t.Errorf("%q: column %d %q, want %d %q", c.text, e.Column(), e.Msg, c.col, c.msg)
		}
		if lines := strings.Split(e.Excerpt(), "\n"); len(lines) != 2 || len(lines[1]) != c.col {
			t.Errorf("%q: excerpt %q", c.text, e.Excerpt())
		}
	}
}

func TestASavedReadingIsFoundByItsName(t *testing.T) {
	saved := func(name string) (colorcalc.XY, float64, bool) {
		return colorcalc.XY{X: .4, Y: .39}, 850, name == "back wall"
	}
	c, err := expr.ParseWith("reading back wall", saved)
	if err != nil || c.XY.X != .4 || c.Y != 850 {
		t.Errorf("%v, %v", c, err)
	}
	_, err = expr.ParseWith("reading front", saved)
	var e *expr.Error
	if !errors.As(err, &e) || e.Column() != 9 {
		t.Errorf("error %v", err)
	}
}

// Commas that can be nothing but separators still are.
func TestACommaSeparates(t *testing.T) {
	for text, want := range map[string]colorcalc.XY{
		"xy 0.31,0.33": {X: 0.31, Y: 0.33}, "xy 0.31, 0.33": {X: 0.31, Y: 0.33}, "xy(0.31,0.33)": {X: 0.31, Y: 0.33},
		"XYZ 100,100,100": {X: 1. / 3, Y: 1. / 3}, "XYZ 100, 100, 100": {X: 1. / 3, Y: 1. / 3}, "XYZ 100.0,100,100": {X: 1. / 3, Y: 1. / 3},
	} {
		if c, err := expr.Parse(text); err != nil || math.Hypot(c.XY.X-want.X, c.XY.Y-want.Y) > 1e-12 {
			t.Errorf("%q gives %v, %v; want %v", text, c.XY, err, want)
		}
	}
	if _, err := expr.Parse("rgb 1,0,0 in sRGB"); err != nil {
		t.Error(err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add("5600K +0.002")          // the usual one
	f.Add("xy(0.3127,0.3290)")     // brackets
	f.Add("#ff8800 in P3-D65")     // hex in a space
	f.Add("hsi 30° 60% in BT.709") // marks beyond ASCII
	f.Add("D5600K")                // daylight
	f.Add("u′v′ .2 −.4")           // prime and minus as documents print them
	f.Add("1e999K")                // overflow
	f.Add("−")                     // a lone minus
	f.Add("XYZ 95,05 100")         // a decimal comma
	f.Add("xy 0.3 1e-320")         // what makes X infinite
	f.Add("XYZ 1e308 1e307 0")     // near the limit of numbers
	f.Fuzz(func(t *testing.T, text string) {
		c, err := expr.Parse(text)
		if err != nil {
			var e *expr.Error
			if !errors.As(err, &e) || e.Pos < 0 || e.Pos > len(e.Text) || e.Msg == "" {
				t.Errorf("%q: error %#v", text, err)
			}
			return
		}
		if !c.XY.Valid() || !(c.Y >= 0) || math.IsInf(c.Y, 0) {
			t.Errorf("%q gives %v", text, c)
		}
		for _, level := range []float64{c.Y, 100} { // what is shown of a colour is finite
			if v := c.XY.XYZ(level); !(math.Abs(v.X)+math.Abs(v.Y)+math.Abs(v.Z) < math.MaxFloat64) {
				t.Errorf("%q at %v gives %v", text, level, v)
			}
		}
		if again, err := expr.Parse(c.Text); err != nil || again.XY != c.XY {
			t.Errorf("%q: its own text %q gives %v, %v", text, c.Text, again, err)
		}
	})
}
