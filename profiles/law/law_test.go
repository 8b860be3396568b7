package law

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
)

// drawRange draws codes of any resolution: whole, partial, one step wide.
func drawRange(t *rapid.T) Range {
	most := rapid.SampledFrom([]uint32{1, 96, 255, 65535, 1<<24 - 1}).Draw(t, "max")
	r := Whole(most)
	if rapid.Bool().Draw(t, "partial") {
		r.Lo = rapid.Uint32Range(0, most-1).Draw(t, "lo")
		r.Hi = rapid.Uint32Range(r.Lo+1, most).Draw(t, "hi")
	}
	return r
}

// drawScale draws a scale of any kind, either way round.
func drawScale(t *rapid.T) Scale {
	r := drawRange(t)
	ends := func(lo, hi, apart float64) (float64, float64) {
		a := rapid.Float64Range(lo, hi).Draw(t, "from")
		z := rapid.Float64Range(lo, hi).Draw(t, "to")
		if math.Abs(z-a) < apart {
			if z = a + apart; z > hi {
				z = a - apart
			}
		}
		return a, z
	}
	switch rapid.IntRange(0, 6).Draw(t, "kind") {
	case 0:
		return Level{Range: r, Curve: drawCurve(t)}
	case 1:
		a, z := ends(1000, 25000, 50)
		return CCT{Range: r, From: colorcalc.Kelvin(a), To: colorcalc.Kelvin(z), Mired: rapid.Bool().Draw(t, "mired")}
	case 2:
		a, z := ends(-0.1, 0.1, 0.001)
		return Tint{Range: r, Unit: TintUnit(rapid.IntRange(0, 2).Draw(t, "unit")), From: colorcalc.Duv(a), To: colorcalc.Duv(z)}
	case 3:
		a, z := ends(0, 1, 0.01)
		return Axis{Line{r, a, z}, "x"}
	case 4:
		a, z := ends(-360, 720, 1)
		return Hue{Line{r, a, z}}
	case 5:
		a, z := ends(0, 1, 0.01)
		return Saturation{Line{r, a, z}}
	}
	n := rapid.IntRange(1, 1000).Draw(t, "steps")
	step := rapid.SampledFrom([]float64{0.1, 0.25, 0.5, 1, 5, 50, -0.1, -1, -50}).Draw(t, "step")
	from := float64(rapid.IntRange(-2000, 8000).Draw(t, "from"))
	return Knob{Label: "K", From: from, To: from + float64(n)*step, Step: step}
}

func drawCurve(t *rapid.T) Curve {
	switch l := Law(rapid.IntRange(0, 5).Draw(t, "law")); l {
	case Gamma:
		return Curve{Law: l, Gamma: rapid.Float64Range(0.3, 5).Draw(t, "gamma")}
	case Table:
		n := rapid.IntRange(2, 40).Draw(t, "points")
		c := Curve{Law: l, Table: make([]float64, n)}
		for i := range n - 1 {
			c.Table[i+1] = c.Table[i] + rapid.Float64Range(0.01, 1).Draw(t, "rise")
		}
		for i := range n {
			c.Table[i] /= max(c.Table[n-1], 1e-9)
		}
		c.Table[n-1] = 1
		return c
	default:
		return Curve{Law: l}
	}
}

// A figure that is shown for a code, dialled again, is that very code: on every
// kind of scale, whole or partial, either way round, 8 to 24 bit.
func TestWhatIsShownOfACodeIsThatCode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScale(t)
		r := s.Codes()
		code := rapid.Uint32Range(r.Lo, r.Hi).Draw(t, "code")
		v := s.Shown(code)
		if back := s.CodeShown(v.Value); back != code {
			t.Fatalf("%#v: code %d is shown as %v, which is code %d", s, code, v, back)
		}
		if v.Value == 0 && math.Signbit(v.Value) {
			t.Fatalf("%#v: code %d is shown as minus zero", s, code)
		}
	})
}

// A code's nominal value, unrounded, gives that code back.
func TestCodeToValueAndBackIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScale(t)
		r := s.Codes()
		code := rapid.Uint32Range(r.Lo, r.Hi).Draw(t, "code")
		back := code
		switch s := s.(type) {
		case CCT:
			back = s.CodeOf(s.At(code))
		case Tint:
			back = s.CodeOf(s.At(code))
		case Axis:
			back = s.CodeOf(s.At(code))
		case Hue:
			back = s.CodeOf(s.At(code))
		case Saturation:
			back = s.CodeOf(s.At(code))
		case Level:
			if light := s.Light(code); s.Curve.Law == Linear || s.Curve.Law == Square || s.Curve.Law == Unknown {
				back = s.CodeOf(light)
			}
		}
		if back != code {
			t.Fatalf("%#v: code %d came back as %d", s, code, back)
		}
	})
}

// What the solver asks by fractions is what the profile says of codes, bit by
// bit but for kelvin, which it counts in mired.
func TestAFractionMeansWhatItsCodeMeans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawScale(t)
		r := s.Codes()
		code := rapid.Uint32Range(0, r.Max).Draw(t, "code") // beyond Lo..Hi too
		f := r.FractionAt(float64(code))
		if f != r.Fraction(code) {
			t.Fatalf("%#v: code %d is %v of the scale, and %v", r, code, f, r.Fraction(code))
		}
		same := func(what string, got, want, within float64) {
			if !(math.Abs(got-want) <= within) {
				t.Fatalf("%#v: %s at code %d is %.17g by fraction and %.17g by code", s, what, code, got, want)
			}
		}
		switch s := s.(type) {
		case CCT:
			same("mired", s.MiredOf(f), float64(s.At(code).Mired()), 1e-9)
		case Tint:
			same("Duv", s.DuvOf(f), float64(s.At(code)), 0)
		case Axis:
			same("x", s.ValueOf(f), s.At(code), 0)
		case Hue:
			same("turns", s.TurnsOf(f), s.At(code)/360, 1e-14)
		case Saturation:
			same("saturation", s.ValueOf(f), s.At(code), 0)
		case Level:
			same("light", s.Curve.Light(f), s.Light(code), 0)
		}
	})
}

// Scales as manuals have them, worked by hand.
func TestScalesAsManualsHaveThem(t *testing.T) {
	half := Range{Max: 255, Lo: 5, Hi: 250}
	steps := CCT{Range: Range{Max: 255, Lo: 10, Hi: 220}, Steps: []Step{{10, 40, 2700}, {100, 140, 4000}, {200, 220, 5600}}}
	for _, c := range []struct {
		s    Scale
		code uint32
		want string
	}{
		{CCT{Range: Whole(255), From: 2700, To: 6500}, 0, "2700 K"},
		{CCT{Range: Whole(65535), From: 2700, To: 6500}, 65535, "6500.00 K"},
		{CCT{Range: Whole(255), From: 10000, To: 2000, Mired: true}, 255, "2000 K"},
		{CCT{Range: Whole(256), From: 10000, To: 2000, Mired: true}, 128, "3333 K"}, // 300 mired
		{steps, 0, "2700 K"},
		{steps, 70, "2700 K"}, // in a gap: the step below
		{steps, 99, "2700 K"},
		{steps, 100, "4000 K"},
		{steps, 199, "4000 K"},
		{steps, 255, "5600 K"},
		{Tint{Range: Whole(255), Unit: TintGreen, From: 0.015, To: -0.015}, 0, "50.0 % green"},
		{Tint{Range: Whole(255), Unit: TintGreen, From: 0.015, To: -0.015}, 128, "-0.2 % green"},
		{Tint{Range: Whole(254), Unit: TintDuv, From: 0.012, To: -0.012}, 127, "0.00000 Duv"},
		{Tint{Range: Whole(255), From: -0.015, To: 0.015}, 255, "100.0 %"},
		{Saturation{Line{Whole(255), 1, 0}}, 0, "100.0 %"},
		{Saturation{Line{Whole(255), 1, 0}}, 255, "0.0 %"},
		{Hue{Line{Range{Max: 255, Hi: 250}, 360, 0}}, 0, "360 °"},
		{Hue{Line{Range{Max: 255, Hi: 250}, 360, 0}}, 125, "180 °"},
		{Hue{Line{Whole(255), -180, 180}}, 0, "-180 °"},
		{Axis{Line{Whole(65535), 0, 0.8}, "x"}, 25600, "0.31250 x"},
		{Level{Range: half}, 5, "0.0 %"},
		{Level{Range: half}, 250, "100.0 %"},
		{Level{Range: half}, 255, "100.0 %"},
		{Level{Range: Whole(65535)}, 61951, "94.531 %"},
		{Knob{Label: "CCT", Unit: "K", From: 2700, To: 7500, Step: 50}, 32, "4300 K"},
		{Knob{Label: "W", Unit: "%", From: 0, To: 100, Step: 0.5}, 1, "0.5 %"},
		{Knob{Label: "G/M", From: 50, To: -50, Step: -1}, 50, "0"},
		{Knob{Label: "f", From: 0, To: 1, Step: 0.1}, 3, "0.3"},
	} {
		if got := c.s.Shown(c.code).String(); got != c.want {
			t.Errorf("%#v: code %d is shown as %q, want %q", c.s, c.code, got, c.want)
		}
	}
	for k, want := range map[colorcalc.Kelvin]uint32{1000: 25, 2700: 25, 3300: 25, 3400: 120, 5600: 210, 9000: 210} {
		if got := steps.CodeOf(k); got != want {
			t.Errorf("%v K on a scale in steps is code %d, want %d", k, got, want)
		}
	}
}

// A hue is found round the circle, and one between the ends goes to the nearer.
func TestHueGoesRoundTheCircle(t *testing.T) {
	centred := Hue{Line{Whole(360), -180, 180}}
	back := Hue{Line{Range{Max: 255, Hi: 250}, 360, 0}}
	short := Hue{Line{Whole(100), 0, 300}}
	for _, c := range []struct {
		h       Hue
		degrees float64
		want    uint32
	}{
		{centred, 0, 180}, {centred, 270, 90}, {centred, -90, 90}, {centred, 180, 360}, {centred, 540, 0}, {centred, 200, 20},
		{back, 0, 250}, {back, 360, 0}, {back, 90, 188}, {back, 450, 188}, {back, -270, 188},
		{short, 320, 100}, {short, 340, 0}, {short, 359, 0}, {short, -10, 0},
		{centred, math.NaN(), 0}, {centred, math.Inf(1), 0},
	} {
		if got := c.h.CodeOf(c.degrees); got != c.want {
			t.Errorf("%v degrees on %g..%g is code %d, want %d", c.degrees, c.h.From, c.h.To, got, c.want)
		}
	}
}

// Light as the laws are defined, worked by hand; and back.
func TestCurves(t *testing.T) {
	for _, c := range []struct {
		c           Curve
		drive, want float64
	}{
		{Curve{}, 0.3, 0.3}, {Curve{Law: Linear}, 0.3, 0.3}, {Curve{Law: Square}, 0.3, 0.09},
		{Curve{Law: Gamma, Gamma: 3}, 0.5, 0.125}, {Curve{Law: Gamma}, 0.5, math.Exp2(-2.2)}, {Curve{Law: SCurve}, 0.25, 0.15625},
		{Curve{Law: Table, Table: []float64{0, 0.2, 1}}, 0.25, 0.1}, {Curve{Law: Table, Table: []float64{0, 0.2, 1}}, 0.75, 0.6},
		{Curve{Law: Square}, -1, 0}, {Curve{Law: Square}, 2, 1}, {Curve{Law: Table, Table: []float64{0, 1}}, math.NaN(), 0},
	} {
		if got := c.c.Light(c.drive); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v at drive %g: light %g, want %g", c.c, c.drive, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t)
		if err := c.Check(); err != nil {
			t.Fatal(err)
		}
		p := rapid.Float64Range(0, 1).Draw(t, "light")
		d := c.Drive(p)
		// A step beside the drive must lie on either side of the light.
		if !(c.Light(d-1e-9) <= p+1e-12 && c.Light(d+1e-9) >= p-1e-12) {
			t.Fatalf("%+v: light %g at drive %g, which gives %g", c, p, d, c.Light(d))
		}
	})
	for _, bad := range []Curve{{Law: 9}, {Law: -1}, {Law: Gamma, Gamma: 9}, {Law: Table}, {Law: Table, Table: []float64{0, 1, 0.5}},
		{Law: Table, Table: []float64{0, 0}}, {Law: Table, Table: []float64{0, math.NaN()}}} {
		if bad.Check() == nil {
			t.Errorf("%+v was not refused", bad)
		}
	}
}

// The corners of the hexcone, by name; and every mixture there and back.
func TestHueAndSaturationAreAMixture(t *testing.T) {
	for name, c := range map[string]struct {
		turns, sat float64
		want       [3]float64
	}{
		"white": {0.3, 0, [3]float64{1, 1, 1}}, "red": {0, 1, [3]float64{1, 0, 0}}, "yellow": {1. / 6, 1, [3]float64{1, 1, 0}},
		"green": {1. / 3, 1, [3]float64{0, 1, 0}}, "cyan": {0.5, 1, [3]float64{0, 1, 1}}, "blue": {2. / 3, 1, [3]float64{0, 0, 1}},
		"magenta": {-1. / 6, 1, [3]float64{1, 0, 1}}, "pale red": {1, 0.25, [3]float64{1, 0.75, 0.75}}, "orange": {1. / 12, 1, [3]float64{1, 0.5, 0}},
	} {
		for k, want := range c.want {
			if got := Part(k, c.turns, c.sat); math.Abs(got-want) > 1e-12 {
				t.Errorf("%s: part %d is %g, want %g", name, k, got, want)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		turns, sat := rapid.Float64Range(0, 0.999).Draw(t, "turns"), rapid.Float64Range(0.001, 1).Draw(t, "sat")
		h, s := OfParts([3]float64{7 * Part(0, turns, sat), 7 * Part(1, turns, sat), 7 * Part(2, turns, sat)})
		if math.Abs(h-turns) > 1e-9 || math.Abs(s-sat) > 1e-9 {
			t.Fatalf("%g turns, saturation %g came back as %g, %g", turns, sat, h, s)
		}
	})
	if h, s := OfParts([3]float64{}); h != 0 || s != 0 {
		t.Errorf("no light has hue %g, saturation %g", h, s)
	}
}

// Every named space has a white inside its primaries, or the name is wrong.
func TestNamedSpaces(t *testing.T) {
	for _, word := range []string{"bt709", "p3", "bt2020", "e1.54"} {
		s, ok := SpaceOf(word)
		if !ok || s.Name != word || !s.Red.Valid() || !s.Green.Valid() || !s.Blue.Valid() || !s.White.Valid() {
			t.Errorf("%s: %+v", word, s)
		}
	}
	if _, ok := SpaceOf("unknown"); ok {
		t.Error("an unknown space was found")
	}
}

// Whatever figures come in, a scale answers with a code of its range.
func FuzzScalesStayInRange(f *testing.F) {
	f.Add(uint32(255), uint32(0), uint32(255), 2700.0, 6500.0, 4300.0, uint32(3))
	f.Add(uint32(65535), uint32(10), uint32(10), 0.0, 0.0, math.NaN(), uint32(70000))
	f.Add(uint32(255), uint32(5), uint32(250), 360.0, 0.0, math.Inf(1), uint32(255))
	f.Add(uint32(1<<24-1), uint32(0), uint32(1<<24-1), 1.0, 0.0, -1e300, uint32(1<<23))
	f.Fuzz(func(t *testing.T, most, lo, hi uint32, from, to, value float64, code uint32) {
		most = most%(1<<24-1) + 1
		r := Range{Max: most, Lo: lo % (most + 1), Hi: hi % (most + 1)}
		if r.Lo > r.Hi {
			r.Lo, r.Hi = r.Hi, r.Lo
		}
		l := Line{r, from, to}
		k := colorcalc.Kelvin(from)
		for _, s := range []Scale{Level{Range: r}, CCT{Range: r, From: k, To: colorcalc.Kelvin(to)}, CCT{Range: r, From: k, To: colorcalc.Kelvin(to), Mired: true},
			CCT{Range: r, Steps: []Step{{r.Lo, r.Lo, k}, {r.Hi, r.Hi, colorcalc.Kelvin(to)}}},
			Tint{Range: r, Unit: TintGreen, From: colorcalc.Duv(from), To: colorcalc.Duv(to)}, Axis{l, "x"}, Hue{l}, Saturation{l}} {
			if c := s.CodeShown(value); c < r.Lo || c > r.Hi {
				t.Errorf("%#v: %g is code %d", s, value, c)
			}
			_ = s.Shown(code).String()
		}
	})
}
