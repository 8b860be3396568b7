package profiles

import (
	"fmt"
	"math"

	"trueup/colorcalc"
)

// greenPercent is the Duv of one percent of a full (CC30) plus or minus green
// filter: 0.0010 Duv for each CC unit. It is a rule of thumb; light and dye move
// it between 0.0006 and 0.0013.
const greenPercent = 0.0003

// openTint is the reach taken for a tint scale whose size is not known.
const openTint = 0.015

func (r *reader) cct(at string, m *Mode, raw *fileCCT) *CCTParam {
	d := r.doc
	c := &CCTParam{Param: r.param(at, "cct", m, &raw.fileBase), Mired: raw.Scale == "mired"}
	k := raw.Kelvin
	if k == nil && c.Knob != nil && c.Knob.Unit == "K" {
		k = []float64{c.Knob.From, c.Knob.To}
		if math.Min(k[0], k[1]) < 1000 || math.Max(k[0], k[1]) > 25000 {
			d.Errorf(at+".knob", "the knob goes from %g to %g K: want 1000 to 25000", k[0], k[1])
			return c
		}
		if c.Mired {
			d.Errorf(at+".scale", "a knob that shows kelvin is linear in kelvin").Advise("take scale out")
		}
	}
	switch {
	case k != nil && raw.Steps != nil:
		d.Errorf(at+".steps", "the scale is given twice, by kelvin and by steps").Advise("keep one of the two")
	case raw.Steps != nil:
		if raw.Scale != "" {
			d.Errorf(at+".scale", "a scale in steps needs no \"scale\"").Advise("take it out")
		}
		if raw.Levels != nil {
			d.Errorf(at+".levels", "a scale in steps has its levels in each step").Advise("take levels out")
		}
		r.steps(at, c, raw.Steps)
	case len(k) == 2 && !d.Failed(at+".kelvin"):
		if k[0] == k[1] {
			d.Errorf(at+".kelvin", "the scale ends where it begins, at %g K", k[0])
		}
		c.From, c.To = colorcalc.Kelvin(k[0]), colorcalc.Kelvin(k[1])
	case k == nil && !d.Failed(at):
		d.Errorf(at, "cct needs \"kelvin: [at the lowest level, at the highest]\" or \"steps:\"")
	}
	return c
}

func (r *reader) steps(at string, c *CCTParam, raw []fileStep) {
	rising := 0
	for i, s := range raw {
		here := fmt.Sprintf("%s.steps[%d]", at, i)
		if len(s.Levels) != 2 || r.doc.Failed(here) {
			return
		}
		lo, hi := s.Levels[0], s.Levels[1]
		if lo > hi || hi > int(c.Max) {
			r.doc.Errorf(here+".levels", "levels are %d to %d: want the lower one first, and at most %d with these slots", lo, hi, c.Max)
			return
		}
		if i > 0 {
			before := c.Steps[i-1]
			if lo <= int(before.Hi) {
				r.doc.Errorf(here+".levels", "the step begins at %d, within or below the one before, which ends at %d", lo, before.Hi).
					Advise("list the steps from the lowest level up, without overlap")
				return
			}
			dir := sign(s.Kelvin - float64(before.Kelvin))
			if dir == 0 || rising != 0 && dir != rising {
				r.doc.Errorf(here+".kelvin", "%g K breaks the order: steps must all rise or all fall in colour temperature", s.Kelvin)
				return
			}
			rising = dir
		}
		c.Steps = append(c.Steps, Step{uint32(lo), uint32(hi), colorcalc.Kelvin(s.Kelvin)})
	}
	c.Lo, c.Hi = c.Steps[0].Lo, c.Steps[len(c.Steps)-1].Hi
	c.From, c.To = c.Steps[0].Kelvin, c.Steps[len(c.Steps)-1].Kelvin
	if c.Start != nil && (*c.Start < c.Lo || *c.Start > c.Hi) {
		r.doc.Errorf(at+".start", "start is %d, outside of the steps %d to %d", *c.Start, c.Lo, c.Hi)
	}
}

func sign(f float64) int {
	switch {
	case f > 0:
		return 1
	case f < 0:
		return -1
	}
	return 0
}

// At gives the nominal colour temperature of a code. Codes beyond Lo..Hi give
// the ends; a code in a gap between steps belongs to the step below it.
func (c *CCTParam) At(code uint32) colorcalc.Kelvin {
	code = max(c.Lo, min(c.Hi, code))
	for i := len(c.Steps) - 1; i >= 0; i-- {
		if code >= c.Steps[i].Lo {
			return c.Steps[i].Kelvin
		}
	}
	f := c.Fraction(code)
	if c.Mired {
		a, z := float64(c.From.Mired()), float64(c.To.Mired())
		return colorcalc.Mired(a + f*(z-a)).Kelvin()
	}
	return c.From + colorcalc.Kelvin(f)*(c.To-c.From)
}

// CodeOf gives the code whose nominal colour temperature is nearest, on the
// mode's own scale; the middle of a step. Beyond the range it gives the end.
func (c *CCTParam) CodeOf(t colorcalc.Kelvin) uint32 {
	if len(c.Steps) > 0 {
		best := c.Steps[0]
		for _, s := range c.Steps {
			if math.Abs(float64(s.Kelvin-t)) < math.Abs(float64(best.Kelvin-t)) {
				best = s
			}
		}
		return best.Lo + (best.Hi-best.Lo)/2
	}
	if c.Mired {
		a, z := float64(c.From.Mired()), float64(c.To.Mired())
		return c.Code((float64(t.Mired()) - a) / (z - a))
	}
	return c.Code(float64((t - c.From) / (c.To - c.From)))
}

func (r *reader) tint(at string, m *Mode, raw *fileTint) *TintParam {
	d := r.doc
	t := &TintParam{Param: r.param(at, "tint", m, &raw.fileBase)}
	if !d.Has(atMode(at) + ".cct") {
		return t
	}
	given := 0
	for _, key := range []string{"duv", "percent_green", "toward"} {
		if d.Has(at + "." + key) {
			if given++; given == 2 {
				d.Errorf(at+"."+key, "the tint scale is given twice").Advise("keep one of duv, percent_green and toward")
			}
		}
	}
	ends, per := raw.Duv, 1.0
	key := ".duv"
	if raw.PercentGreen != nil {
		ends, per, key, t.Unit = raw.PercentGreen, greenPercent, ".percent_green", TintGreen
	} else if raw.Duv != nil {
		t.Unit = TintDuv
	}
	switch {
	case t.Unit == TintUnknown:
		t.Guess, t.SignOpen = true, raw.Toward != "green" && raw.Toward != "magenta"
		t.From, t.To = -openTint, openTint
		if raw.Toward == "magenta" {
			t.From, t.To = openTint, -openTint
		}
	case len(ends) == 2 && !d.Failed(at+key):
		if ends[0] == ends[1] {
			d.Errorf(at+key, "the scale ends where it begins, at %g", ends[0])
		}
		t.From, t.To = colorcalc.Duv(ends[0]*per), colorcalc.Duv(ends[1]*per)
	}
	return t
}

// At gives the nominal Duv of a code.
func (t *TintParam) At(code uint32) colorcalc.Duv {
	return t.From + colorcalc.Duv(t.Fraction(code))*(t.To-t.From)
}

// CodeOf gives the code whose nominal Duv is nearest.
func (t *TintParam) CodeOf(d colorcalc.Duv) uint32 {
	return t.Code(float64((d - t.From) / (t.To - t.From)))
}

func (r *reader) scales(at string, m *Mode, raw *fileMode) {
	scale := func(key, ends string, b *fileBase, pair []float64, from, to, per float64) *ScaleParam {
		s := &ScaleParam{Param: r.param(at+"."+key, key, m, b), From: from, To: to}
		if len(pair) == 2 {
			if pair[0] == pair[1] {
				r.doc.Errorf(at+"."+key+"."+ends, "the scale ends where it begins, at %g", pair[0])
			}
			s.From, s.To = pair[0]*per, pair[1]*per
		}
		return s
	}
	if raw.X != nil {
		m.X = scale("x", "range", &raw.X.fileBase, raw.X.Range, 0, 1, 1)
	}
	if raw.Y != nil {
		m.Y = scale("y", "range", &raw.Y.fileBase, raw.Y.Range, 0, 1, 1)
	}
	if raw.Hue != nil {
		m.Hue = scale("hue", "degrees", &raw.Hue.fileBase, raw.Hue.Degrees, 0, 360, 1)
	}
	if raw.Saturation != nil {
		m.Sat = scale("saturation", "percent", &raw.Saturation.fileBase, raw.Saturation.Percent, 0, 1, 0.01)
	}
	for i, c := range raw.Gamut {
		here := fmt.Sprintf("%s.gamut[%d]", at, i)
		if r.doc.Failed(here) {
			continue
		}
		if len(c) != 2 || !(colorcalc.XY{X: c[0], Y: c[1]}).Valid() {
			r.doc.Errorf(here, "a corner of the gamut is a pair [x, y] with y above 0 and x + y at most 1")
			continue
		}
		m.Gamut = append(m.Gamut, colorcalc.XY{X: c[0], Y: c[1]}.UV())
	}
	m.Space = spaceOf(raw.Space)
	if w := raw.White; w != nil {
		m.White = r.chroma(at+".white", w.XY, w.UV, w.Kelvin, w.Duv)
		if m.White == nil && !r.doc.Failed(at+".white") {
			r.doc.Errorf(at+".white", "white says no colour").Advise("give xy, uv or kelvin")
		}
	}
}

// spaceOf finds an RGB space by the word of the profile; nil for none.
func spaceOf(word string) *Space {
	d65 := colorcalc.XY{X: 0.3127, Y: 0.3290}
	xy := func(x, y float64) colorcalc.XY { return colorcalc.XY{X: x, Y: y} }
	switch word {
	case "bt709": // ITU-R BT.709-6 item 1.3
		return &Space{word, xy(0.64, 0.33), xy(0.30, 0.60), xy(0.15, 0.06), d65}
	case "p3": // SMPTE EG 432-1, with D65
		return &Space{word, xy(0.68, 0.32), xy(0.265, 0.69), xy(0.15, 0.06), d65}
	case "bt2020": // ITU-R BT.2020-2 table 3
		return &Space{word, xy(0.708, 0.292), xy(0.170, 0.797), xy(0.131, 0.046), d65}
	case "e1.54": // ANSI E1.54
		return &Space{word, xy(0.7347, 0.2653), xy(0.1596, 0.8404), xy(0.0366, 0.0001), xy(0.4254, 0.4044)}
	}
	return nil
}

// At gives the nominal value of a code.
func (s *ScaleParam) At(code uint32) float64 { return s.From + s.Fraction(code)*(s.To-s.From) }

// CodeOf gives the code whose nominal value is nearest.
func (s *ScaleParam) CodeOf(v float64) uint32 { return s.Code((v - s.From) / (s.To - s.From)) }
