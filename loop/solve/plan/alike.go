package plan

import (
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/loop/solve/model"
)

// Palette is what a mix is chosen from: emitters with their light at full drive, as
// learnt, and how far each may go.
type Palette struct {
	Full []colorcalc.XYZ // light of every emitter at full drive, in any unit
	Most []float64       // fraction of full light that each may give, above 0
}

// AlikeMix is a choice among the mixes that land.
type AlikeMix struct {
	Lights []float64 // fraction of full light of every emitter, as bright as the bounds allow
	Level  float64   // of the most light at the chromaticity, 0..1
	Form   float64   // mean square of the predicted differences, all samples alike
	Means  []float64 // mean CIEDE2000 over the CES samples, by observer
	Steps  int       // of the search, all rounds
}

// Mean is that over all observers.
func (m AlikeMix) Mean() (sum float64) {
	for _, v := range m.Means {
		sum += v / float64(len(m.Means))
	}
	return sum
}

// Figures of the mix most alike.
const (
	alikeRounds = 5   // of new weights: the mean of the differences in place of their mean square
	alikeLeast  = 0.3 // difference below which a sample weighs no more
	guardHalves = 24  // of the chord
	guardSlack  = 1e-9
)

// ErrNoMix says that no mix of the emitters has the chromaticity.
var ErrNoMix = errors.New("no mix of these emitters has that chromaticity")

// Brightest is the mix of a chromaticity with the most light, as the observers of m
// see it. Errors: ErrNoMix, a palette that does not fit m.
func Brightest(m *quality.Mixing, p Palette, t colorcalc.UV) (AlikeMix, error) {
	a, err := newAlike(m, p, t, 1)
	if err != nil {
		return AlikeMix{}, err
	}
	return a.result(a.z)
}

// MostAlike is the mix of a chromaticity that looks most like the reference of m, with at
// least the part floor (0..1) of the most light that the chromaticity has. With guard it looks to
// no observer less alike than the brightest mix, by the prediction. Errors as Brightest, and a floor out of range.
//
// In the shape z, a mix with the luminance of the brightest emitter, the level floor is a box and what is asked for is a
// quadratic form: a convex program, solved from the brightest mix by active sets, then again with
// new weights.
func MostAlike(m *quality.Mixing, p Palette, t colorcalc.UV, floor float64, guard bool) (AlikeMix, error) {
	a, err := newAlike(m, p, t, floor)
	if err != nil {
		return AlikeMix{}, err
	}
	n := len(p.Full)
	h := make([]float64, n*n)
	m.Form(h, nil)
	start := append([]float64(nil), a.z...)
	a.minimise(h)
	best, err := a.guarded(start, guard)
	if err != nil {
		return AlikeMix{}, err
	}
	de := make([]float64, len(m.Observers())*quality.Samples)
	for range alikeRounds {
		m.Predict(de, a.z)
		for i, v := range de {
			de[i] = 1 / max(v, alikeLeast)
		}
		m.Form(h, de)
		a.minimise(h)
		next, err := a.guarded(start, guard)
		if err != nil {
			return AlikeMix{}, err
		}
		if next.Mean() < best.Mean() {
			best = next
		}
	}
	if first, err := a.result(start); err == nil && first.Mean() < best.Mean() {
		best = first // near the best already, and the form is not exact
	}
	best.Steps = a.steps
	return best, nil
}

// alike is the program: minimise z' h z with equal z = right, 0 <= z <= most.
type alike struct {
	m     *quality.Mixing
	p     Palette
	top   float64 // most light at the chromaticity
	equal [maxRows][]float64
	most  []float64
	z     []float64
	steps int
}

func newAlike(m *quality.Mixing, p Palette, t colorcalc.UV, floor float64) (*alike, error) {
	n := len(p.Full)
	switch {
	case n != m.Emitters() || n != len(p.Most) || n > model.MaxEmitters:
		return nil, fmt.Errorf("%d emitters of %d described, %d bounds: want as many, at most %d", n, m.Emitters(), len(p.Most), model.MaxEmitters)
	case !(floor > 0 && floor <= 1):
		return nil, fmt.Errorf("a level floor of %v: want above 0, at most 1", floor)
	}
	unit := 0.0 // the linear program counts in lights of about one
	for _, f := range p.Full {
		unit = max(unit, f.Y)
	}
	a := &alike{m: m, p: p}
	lp := program{n: n, rows: 2}
	for r := range a.equal {
		a.equal[r] = make([]float64, n)
	}
	for j, f := range p.Full {
		if !(f.Y > 0 && p.Most[j] > 0 && p.Most[j] <= 1) {
			return nil, fmt.Errorf("emitter %d: light %v, at most %v of it: want both above 0", j+1, f.Y, p.Most[j])
		}
		f = f.Scale(1 / unit)
		d := f.X + 15*f.Y + 3*f.Z
		a.equal[0][j], a.equal[1][j], a.equal[2][j] = 4*f.X-t.U*d, 9*f.Y-t.V*d, f.Y
		lp.a[0][j], lp.a[1][j] = a.equal[0][j], a.equal[1][j]
		lp.c[j], lp.hi[j] = f.Y, p.Most[j]
	}
	if !lp.solve() || !(lp.obj > leastOutput) {
		return nil, ErrNoMix
	}
	a.top = lp.obj
	for j := range n {
		a.z = append(a.z, lp.x[j]/a.top)
		a.most = append(a.most, p.Most[j]/(floor*a.top))
	}
	return a, nil
}

// result is a shape as a mix, as bright as the bounds allow.
func (a *alike) result(z []float64) (AlikeMix, error) {
	l := math.Inf(1)
	for j, v := range z {
		if v > 0 {
			l = min(l, a.p.Most[j]/v)
		}
	}
	mix := AlikeMix{Level: l / a.top}
	for j, v := range z {
		mix.Lights = append(mix.Lights, min(l*v, a.p.Most[j]))
	}
	n := len(z)
	h := make([]float64, n*n)
	a.m.Form(h, nil)
	for i := range n {
		for j := range n {
			mix.Form += z[i] * h[i*n+j] * z[j]
		}
	}
	seen, err := a.m.Judge(mix.Lights)
	if err != nil {
		return mix, err
	}
	for _, d := range seen {
		mix.Means = append(mix.Means, d.Mean)
	}
	return mix, nil
}

// guarded is the present shape, or the largest step towards it from the brightest at which no
// observer is predicted to see less likeness. Between two mixes that land everything lands, and
// the mean of the predicted differences is convex there.
func (a *alike) guarded(from []float64, guard bool) (AlikeMix, error) {
	if !guard || len(a.m.Observers()) == 1 {
		return a.result(a.z)
	}
	at := make([]float64, len(from))
	means := func(f float64) []float64 {
		for j := range at {
			at[j] = from[j] + f*(a.z[j]-from[j])
		}
		de := make([]float64, len(a.m.Observers())*quality.Samples)
		a.m.Predict(de, at)
		out := make([]float64, len(a.m.Observers()))
		for i, v := range de {
			out[i/quality.Samples] += v / quality.Samples
		}
		return out
	}
	worst := means(0)
	worse := func(f float64) bool {
		for i, v := range means(f) {
			if v > worst[i]+guardSlack {
				return true
			}
		}
		return false
	}
	if !worse(1) {
		return a.result(a.z)
	}
	lo, hi := 0.0, 1.0
	for range guardHalves {
		if mid := (lo + hi) / 2; worse(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	means(lo)
	return a.result(at)
}
