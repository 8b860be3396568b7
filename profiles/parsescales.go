package profiles

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

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
		c.Steps = append(c.Steps, law.Step{Lo: uint32(lo), Hi: uint32(hi), Kelvin: colorcalc.Kelvin(s.Kelvin)})
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
		ends, per, key, t.Unit = raw.PercentGreen, law.GreenPercent, ".percent_green", law.TintGreen
	} else if raw.Duv != nil {
		t.Unit = law.TintDuv
	}
	switch {
	case t.Unit == law.TintUnknown:
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
	if s, ok := law.SpaceOf(raw.Space); ok {
		m.Space = &s
	}
	if w := raw.White; w != nil {
		m.White = r.chroma(at+".white", w.XY, w.UV, w.Kelvin, w.Duv)
		if m.White == nil && !r.doc.Failed(at+".white") {
			r.doc.Errorf(at+".white", "white says no colour").Advise("give xy, uv or kelvin")
		}
	}
}
