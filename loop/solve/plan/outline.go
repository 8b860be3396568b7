package plan

import (
	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// outlineSteps are the points on each side of an engine's box of parameters.
const outlineSteps = 128

// Outline is the edge of the chromaticities that a head reaches under a state, as a closed polygon
// in u'v'. Of emitters it is the hull of their colours (light adds up, so every mixture lies within
// it, and every point within it is a mixture); of an engine the edge of its box of parameters as
// the law carries it. Without a second parameter it goes along a line and back: it encloses nothing.
func Outline(s *model.Spec, law int, x []float64) []colorcalc.UV {
	if s.Kind == model.Emitters {
		m := model.NewMixture(s)
		b := m.Dim().B
		var all []colorcalc.UV
		for i := range m.Emitters() {
			if s.Drive(i, s.Channels[i].Hi) > 0 { // a limit may keep it dark
				all = append(all, colorcalc.UV{U: x[3*i] + x[b], V: x[3*i+1] + x[b+1]})
			}
		}
		return num.Hull(all)
	}
	m := model.NewEngine(s)
	b := m.Dim().B
	lo, hi := m.Box()
	var out []colorcalc.UV
	add := func(p, q float64) {
		u, v := m.At(law, x, p, q)
		out = append(out, colorcalc.UV{U: u + x[b], V: v + x[b+1]})
	}
	side := func(p0, q0, p1, q1 float64) {
		for i := range outlineSteps {
			f := float64(i) / outlineSteps
			add(p0+f*(p1-p0), q0+f*(q1-q0))
		}
	}
	switch {
	case s.Kind == model.HueSat && hi[0]-lo[0] > wholeCircle: // its edge is the full saturation, all around
		side(lo[0], hi[1], hi[0], hi[1])
	case s.Kind == model.CCT && s.CCT.Tint < 0:
		side(lo[0], 0, hi[0], 0)
		side(hi[0], 0, lo[0], 0)
	default:
		side(lo[0], lo[1], hi[0], lo[1])
		side(hi[0], lo[1], hi[0], hi[1])
		side(hi[0], hi[1], lo[0], hi[1])
		side(lo[0], hi[1], lo[0], lo[1])
	}
	return out
}

// wholeCircle is the part of the hues from which on there is no gap.
const wholeCircle = 0.98
