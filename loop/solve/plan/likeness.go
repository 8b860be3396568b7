package plan

import (
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Likeness is what the wishes Alike and BestRendering choose by. It is not changed.
type Likeness struct {
	// Reference is the light that the head is to look like. BestRendering does not ask for it: its reference is
	// that of CIE 224 at the colour temperature of the target.
	Reference spectrum.Spectrum
	// Emitters are the spectra of the head's emitters as far as they are known, in order; an empty one: not known.
	// They are never used as they stand: each is bent to the light that was learnt of its emitter.
	Emitters []spectrum.Spectrum
	// Observers are a camera, or a set of observers of which none is to see less likeness than with the
	// most light.
	Observers []quality.Observer
	Floor     float64 // of the most light at the chromaticity that is kept, above 0, at most 1
}

// beside is the reference as the observers see it; of BestRendering that of chromaticity t. nil: there is none. What does not depend on t
// is kept.
func (e *mixture) beside(t colorcalc.UV) *quality.View {
	if e.wish == BestRendering {
		ref, ok := RenderingReferenceOf(t)
		if !ok {
			return nil
		}
		v, _ := quality.NewView(ref, quality.AdaptedEye())
		return v
	}
	if e.view == nil {
		e.view, _ = quality.NewView(e.like.Reference, e.like.Observers...)
	}
	return e.view
}

// chooseAlike chooses the mix that looks most like the reference, at the level want, or dimmer down to the floor
// of the most light top. It reports whether there is one that lands; the emitters are held from then on.
func (e *mixture) chooseAlike(p []float64, t colorcalc.UV, top, want float64) bool {
	goal := t.XYZ(want).Sub(e.background) // of the emitters alone
	if !(goal.X > 0 && goal.Y > 0 && goal.Z > 0) {
		return false
	}
	floor := want / top
	if !(e.absY > 0) {
		floor = min(floor, e.like.Floor)
	}
	m, which, palette := e.mixing(goal.UV())
	if m == nil {
		return false
	}
	mix, err := MostAlike(m, palette, goal.UV(), min(floor, mostMix), true)
	if err != nil {
		return false
	}
	most := 0.0 // light of the mix as bright as the bounds allow
	for k, l := range mix.Lights {
		most += l * palette.Full[k].Y
	}
	dim := min(1, goal.Y/most)
	var q [model.MaxEmitters]float64
	copy(q[:], e.plo[:])
	for k, i := range which {
		q[i] = mix.Lights[k] * dim
	}
	y := e.background.Y
	for i := range e.n {
		y += q[i] * e.full[i].Y
	}
	// The rest is small: that the background's share depends on the level, and what was left out.
	e.y, e.basis = y, e.roomiest(q[:])
	if !e.hold(q[:], t, holdLevels[:]...) && !e.local(q[:], t, nearEnough*alikeLands) {
		return false
	}
	copy(p, q[:e.n])
	e.held = true
	return true
}

// alikeLands is the tolerance, u'v', that a mix is brought within where no three emitters can do it exactly.
const alikeLands = 0.001

// mixing prepares the emitters that may be lit, each with its spectrum bent to its learnt light; which are
// their indices. nil: a spectrum is missing, or they give nothing to choose from.
func (e *mixture) mixing(t colorcalc.UV) (m *quality.Mixing, which []int, p Palette) {
	var emitters []quality.Emitter
	for i := range e.n {
		if !(e.phi[i] > e.plo[i]) || !(e.full[i].Y > 0) {
			continue
		}
		if i >= len(e.like.Emitters) || len(e.like.Emitters[i].Values) == 0 {
			return nil, nil, p
		}
		s := Bent(e.like.Emitters[i], e.full[i])
		emitters = append(emitters, quality.Emitter{Spectrum: s, Luminance: e.full[i].Y})
		which = append(which, i)
		p.Full, p.Most, p.Least = append(p.Full, e.full[i]), append(p.Most, e.phi[i]), append(p.Least, max(e.pm[i], e.plo[i]))
	}
	view := e.beside(t)
	if view == nil {
		return nil, nil, p
	}
	m, err := view.Mixing(emitters)
	if err != nil {
		return nil, nil, p
	}
	return m, which, p
}

// Bent is a spectrum bent to the light that was learnt of its emitter; as it is where that can not be done.
func Bent(s spectrum.Spectrum, learnt colorcalc.XYZ) spectrum.Spectrum {
	s = s.Resample(spectrum.Visible5)
	b, err := s.BendTo(learnt)
	if err != nil {
		return s
	}
	return b.Of(s)
}

// RenderingReferenceOf is the reference light of CIE 224 for lights of a chromaticity; not ok without a
// colour temperature.
func RenderingReferenceOf(t colorcalc.UV) (spectrum.Spectrum, bool) {
	k, _, err := colorcalc.CCT(t.XY())
	if err != nil {
		return spectrum.Spectrum{}, false
	}
	return quality.RenderingReference(k), true
}

// roomiest are the three lit emitters with which small corrections go furthest: the largest determinant of
// their columns, each times the room that its emitter has.
func (e *mixture) roomiest(p []float64) [3]int {
	basis, best := [3]int{-1, -1, -1}, 0.0
	room := func(i int) float64 { return min(p[i]-max(e.pm[i], e.plo[i]), e.phi[i]-p[i]) }
	for i := range e.n {
		for j := i + 1; j < e.n; j++ {
			for k := j + 1; k < e.n; k++ {
				a, b, c := e.full[i], e.full[j], e.full[k]
				m := [9]float64{a.X, b.X, c.X, a.Y, b.Y, c.Y, a.Z, b.Z, c.Z}
				r := room(i) * room(j) * room(k)
				if !(min(room(i), room(j), room(k)) > sameLight) {
					continue
				}
				if d := math.Abs(num.Det3(&m)) * r; d > best {
					best, basis = d, [3]int{i, j, k}
				}
			}
		}
	}
	return basis
}
