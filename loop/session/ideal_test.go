package session

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/loop/solve/model"
	"trueup/profiles"
	"trueup/profiles/law"
)

// inventedModes have scales of every shape: either way round, over a part of
// the codes, with gaps, of every resolution.
var inventedModes = []string{
	`{mode: a, kind: hue-saturation, slots: 3, space: bt709, hue: {slots: [1], levels: [0, 250], degrees: [360, 0]}, saturation: {slots: [2, 3], percent: [100, 0]}}`,
	`{mode: a, kind: hue-saturation, slots: 5, space: e1.54, hue: {slots: [1, 2, 3], degrees: [-90, 450]}, saturation: {slots: [4, 5], levels: [1000, 64000], percent: [5, 95]}}`,
	`{mode: a, kind: cct, slots: 3, cct: {slots: [1, 2], levels: [300, 60000], kelvin: [10000, 2000], scale: mired}, tint: {slots: [3], levels: [5, 250], percent_green: [50, -50]}}`,
	`{mode: a, kind: cct, slots: 3, cct: {slots: [1, 2], kelvin: [6500, 2700]}, tint: {slots: [3], toward: magenta}}`,
	`{mode: a, kind: cct, slots: 2, cct: {slots: [1], steps: [{levels: [5, 40], kelvin: 6500}, {levels: [80, 99], kelvin: 4300}, {levels: [200, 240], kelvin: 2700}]}, tint: {slots: [2], duv: [0.01, -0.02]}}`,
	`{mode: a, kind: xy, slots: 4, x: {slots: [1, 2], levels: [4000, 50000], range: [0.75, 0.05]}, y: {slots: [3, 4], range: [0.05, 0.8]}}`,
	`{mode: a, kind: emitters, slots: 6, curve: {gamma: 2.4}, dimmer: {slots: [6], levels: [10, 240], curve: square}, emitters: [{name: red, slots: [1, 2], levels: [500, 40000]}, {name: green, slots: [3], levels: [20, 255]}, {name: blue, slots: [4, 5]}]}`,
}

// idealUnits compiles every mode of every example with a colour to set, by slots
// or by hand, and the invented ones.
func idealUnits(t *testing.T, visit func(name string, m *profiles.Mode, s *solve.Spec)) {
	t.Helper()
	paths, err := filepath.Glob("../../examples/profiles/*.yaml")
	if err != nil || len(paths) < 10 {
		t.Fatal(paths, err)
	}
	for i, m := range inventedModes {
		path := filepath.Join(t.TempDir(), fmt.Sprintf("invented-%d.yaml", i))
		if err := os.WriteFile(path, []byte("profile: P\nmodes:\n  - "+m+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	n := 0
	for _, path := range append(paths, "../../examples/reference-profile.yaml") {
		p, err := profiles.Load(path)
		if err != nil {
			t.Fatal(err)
		}
		for i := range p.Modes {
			m := &p.Modes[i]
			if m.Kind == profiles.Fixed {
				continue
			}
			b := &builder{f: &rig.Fixture{Name: "x", Profile: p, Mode: m, Level: 0.5}, m: m, params: m.Params()}
			s, err := b.spec("x")
			if err != nil {
				t.Fatal(err)
			}
			if err := s.Check(); err != nil {
				t.Errorf("%s %s: %v", path, m.Name, err)
				continue
			}
			visit(filepath.Base(path)+" "+m.Name, m, &s)
			n++
		}
	}
	if n < 30 {
		t.Errorf("only %d modes", n)
	}
}

// sampled gives about 300 codes of a parameter: the ends, their neighbours, and
// evenly between them; all codes of 8 bit.
func sampled(p *profiles.Param) (codes []uint32) {
	step := max((p.Hi-p.Lo)/300, 1)
	for c := uint64(p.Lo); c < uint64(p.Hi); c += uint64(step) {
		codes = append(codes, uint32(c))
	}
	return append(codes, p.Lo+1, p.Hi-1, p.Hi)
}

// What the solver takes a code for is what the profile says of it, for every
// kind of mode and shape of scale. The chromaticities come from a second
// engine, whose scale begins at the profile's value, from colorcalc, and from
// the mixture written out.
func TestTheSolversIdealIsTheProfiles(t *testing.T) {
	idealUnits(t, func(name string, m *profiles.Mode, s *solve.Spec) {
		drive := func(i int, code uint32) []float64 {
			d := make([]float64, len(s.Channels))
			for k, c := range s.Channels {
				d[k] = s.Drive(k, c.Lo+(c.Hi-c.Lo)/3)
			}
			d[i] = s.Drive(i, code)
			return d
		}
		for i, p := range m.Params() {
			if r := s.Scale(i); r != p.Range {
				t.Fatalf("%s, %s: the solver's scale runs over %+v, the profile's over %+v", name, p.Name, r, p.Range)
			}
			for _, code := range sampled(p) {
				if code > s.Channels[i].Hi { // capped
					continue
				}
				if back := s.Code(i, s.Drive(i, code)); back != code {
					t.Fatalf("%s, %s: code %d came back from the solver as %d", name, p.Name, code, back)
				}
				d := drive(i, code)
				codes := make([]uint32, len(d))
				for k, c := range s.Channels {
					codes[k] = c.Lo + (c.Hi-c.Lo)/3
				}
				codes[i] = code
				got, want, within := asked(s, m, i, d, codes)
				if !(got.Dist(want) <= within) {
					t.Fatalf("%s, %s: at code %d the solver expects u'v' %v, the profile says %v", name, p.Name, code, got, want)
				}
			}
		}
	})
}

// asked is what the solver's ideal says of a drive and what the profile says of
// the same codes, as u'v'; of levels it is the light, as u'.
func asked(s *solve.Spec, m *profiles.Mode, i int, d []float64, codes []uint32) (got, want colorcalc.UV, within float64) {
	uv := func(u, v float64) colorcalc.UV { return colorcalc.UV{U: u, V: v} }
	if s.Dimmer != nil && i == s.Dimmer.Channel || s.Kind == solve.Emitters {
		p := m.Params()[i]
		at := float64(codes[i]-p.Lo) / float64(p.Hi-p.Lo)
		curve := p.Curve
		if s.Kind == solve.Emitters && i < len(m.Emitters) {
			curve = s.Curve // rivals are learnt; the first is the profile's, if all emitters have the same
		}
		switch curve.Law {
		case law.Square:
			at *= at
		case law.Gamma:
			at = math.Pow(at, curve.Gamma)
		case law.SCurve:
			at = 3*at*at - 2*at*at*at
		case law.Table:
			at = curve.Light(at)
		}
		return uv(lightOf(s, i, d), 0), uv(at, 0), 1.1e-6 // the solver counts ln light, from a millionth of full
	}
	e := model.NewEngine(s)
	got = uv(e.Asked(d))
	switch s.Kind {
	case solve.CCT:
		k := m.CCT.Law().At(codes[0])
		one := solve.Spec{Kind: solve.CCT, Channels: []solve.Channel{{Max: 255, Hi: 255}, {Max: 255, Hi: 255}},
			CCT: &solve.CCTSpec{Scale: law.CCT{From: k, To: k + 100}, Tint: -1}}
		if m.Tint != nil {
			duv := m.Tint.Law().At(codes[1])
			one.CCT.Tint, one.CCT.TintScale = 1, law.Tint{From: duv, To: duv + 0.01}
		}
		return got, uv(model.NewEngine(&one).Asked([]float64{0, 0})), 1e-9
	case solve.XY:
		xy := colorcalc.XY{X: m.X.Line().At(codes[0]), Y: m.Y.Line().At(codes[1])}
		if xy.X < 0.001 || xy.Y < 0.001 || xy.X+xy.Y > 1 {
			return got, got, 0 // no light: the solver comes back to one
		}
		return got, xy.UV(), 1e-12
	}
	hue, sat := m.Hue.Line().At(codes[0]), m.Sat.Line().At(codes[1])
	return got, mixed(m, hue, sat), 1e-7
}

// lightOf is the fraction of light that the solver expects of a level at first.
func lightOf(s *solve.Spec, i int, d []float64) float64 {
	if s.Kind == solve.Emitters {
		mix := model.NewMixture(s)
		x := mix.Prior()[0].X
		if i == mix.Dimmer() {
			return mix.DimmerLight(x, d[i])
		}
		return mix.Light(0, x, d[i])
	}
	e := model.NewEngine(s)
	c := e.Prior()[0]
	var full, now [3]float64
	e.Predict(0, c.X, d, &now, nil)
	d[i] = 1
	e.Predict(0, c.X, d, &full, nil)
	return math.Exp(now[2] - full[2])
}

// mixed is the colour of a hue and a saturation by the six sectors of the
// textbook, on the primaries and the white of the profile's RGB space.
func mixed(m *profiles.Mode, hue, sat float64) colorcalc.UV {
	red, green, blue := colorcalc.XY{X: 0.695, Y: 0.305}, colorcalc.XY{X: 0.20, Y: 0.72}, colorcalc.XY{X: 0.14, Y: 0.05}
	white := model.D65.XY()
	if m.White != nil {
		white = m.White.XY()
	}
	if m.Space != nil {
		red, green, blue, white = m.Space.Red, m.Space.Green, m.Space.Blue, m.Space.White
	}
	sector := math.Mod(math.Mod(hue, 360)+360, 360) / 60
	f := sector - math.Floor(sector)
	p, q, t := 1-sat, 1-sat*f, 1-sat*(1-f)
	rgb := [6][3]float64{{1, t, p}, {q, 1, p}, {p, 1, t}, {p, q, 1}, {t, p, 1}, {1, p, q}}[int(sector)%6]
	// The primaries' tristimulus values with x + y + z = 1, scaled so that equal
	// parts make the white: by Cramer's rule.
	col := func(c colorcalc.XY) [3]float64 { return [3]float64{c.X, c.Y, 1 - c.X - c.Y} }
	det := func(a, b, c [3]float64) float64 {
		return a[0]*(b[1]*c[2]-b[2]*c[1]) - b[0]*(a[1]*c[2]-a[2]*c[1]) + c[0]*(a[1]*b[2]-a[2]*b[1])
	}
	r, g, b, w := col(red), col(green), col(blue), col(white)
	scale := [3]float64{det(w, g, b), det(r, w, b), det(r, g, w)}
	var sum [3]float64
	for k := range sum {
		sum[k] = rgb[0]*scale[0]*r[k] + rgb[1]*scale[1]*g[k] + rgb[2]*scale[2]*b[k]
	}
	n := sum[0] + sum[1] + sum[2]
	return colorcalc.XY{X: sum[0] / n, Y: sum[1] / n}.UV()
}

// A code gives a value, and the value that code, on the scales that profiles
// hold; what is shown of a code is that code (of a scale in steps: that step).
func TestCodesOfEveryModeComeBack(t *testing.T) {
	idealUnits(t, func(name string, m *profiles.Mode, _ *solve.Spec) {
		for _, p := range m.Params() {
			scale := m.ScaleOf(p)
			for _, code := range sampled(p) {
				shown := scale.Shown(code)
				back := scale.CodeShown(shown.Value)
				if c, ok := scale.(law.CCT); ok && len(c.Steps) > 0 {
					if c.At(back) != c.At(code) {
						t.Fatalf("%s, %s: code %d is %v, which is code %d of another step", name, p.Name, code, shown, back)
					}
				} else if back != code {
					t.Fatalf("%s, %s: code %d is shown as %v, which is code %d", name, p.Name, code, shown, back)
				}
			}
		}
	})
}
