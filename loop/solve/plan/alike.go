package plan

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/loop/solve/model"
)

// Palette is what a mix is chosen from: emitters with their light at full drive, as
// learnt, and how far each may go.
type Palette struct {
	Full []colorcalc.XYZ // light of every emitter at full drive, in any unit
	Most []float64       // fraction of full light that each may give, above 0
	// Least is the fraction of full light below which an emitter may not be lit: it is dark or
	// gives at least that. nil: none has such a bound.
	Least []float64
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
// see it. Least is not asked. Errors: ErrNoMix, a palette that does not fit m.
func Brightest(m *quality.Mixing, p Palette, t colorcalc.UV) (AlikeMix, error) {
	a, err := newAlike(m, p, t)
	if err == nil {
		err = a.begin(1, nil)
	}
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
// new weights. An emitter that ends between dark and its least is tried both ways, some deep.
func MostAlike(m *quality.Mixing, p Palette, t colorcalc.UV, floor float64, guard bool) (AlikeMix, error) {
	if !(floor > 0 && floor <= 1) {
		return AlikeMix{}, fmt.Errorf("a level floor of %v: want above 0, at most 1", floor)
	}
	a, err := newAlike(m, p, t)
	if err != nil {
		return AlikeMix{}, err
	}
	best, steps, err := AlikeMix{}, 0, ErrNoMix
	a.branch(floor, guard, make([]lit, len(p.Full)), branchDeep, func(mix AlikeMix) {
		if steps += mix.Steps; err != nil || mix.Mean() < best.Mean() {
			best, err = mix, nil
		}
	})
	best.Steps = steps
	return best, err
}

// lit is what was decided of an emitter.
type lit int8

const (
	undecided lit = iota
	isDark
	isLit
)

// branch solves with what was decided, and tells of the mix if no emitter is between dark and its
// least; else it decides one of those, both ways.
func (a *alike) branch(floor float64, guard bool, decided []lit, deep int, tell func(AlikeMix)) {
	mix, err := a.solve(floor, guard, decided)
	if err != nil {
		return
	}
	for j, l := range a.p.Least {
		// As dim as the floor allows: a head may be set to less than the most of its mix.
		if v := mix.Lights[j] * floor / mix.Level; decided[j] != undecided || !(v > leastLit) || v >= l*(1-sameLight) {
			continue
		}
		if deep == 0 {
			return
		}
		for _, d := range [...]lit{isDark, isLit} {
			next := slices.Clone(decided)
			next[j] = d
			a.branch(floor, guard, next, deep-1, tell)
		}
		return
	}
	tell(mix)
}

// solve is the best mix with what was decided of the emitters; nil: nothing.
func (a *alike) solve(floor float64, guard bool, decided []lit) (AlikeMix, error) {
	a.steps = 0
	if err := a.begin(floor, decided); err != nil {
		return AlikeMix{}, err
	}
	m, n := a.m, len(a.z)
	start := slices.Clone(a.z)
	a.minimise(a.plain)
	best, err := a.guarded(start, guard)
	if err != nil {
		return AlikeMix{}, err
	}
	h, de := make([]float64, n*n), make([]float64, len(a.seen)*quality.Samples)
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

// alike is the program: minimise z' h z with equal z = right, least <= z <= most.
type alike struct {
	m           *quality.Mixing
	p           Palette
	top         float64   // most light at the chromaticity
	bright      []float64 // the shape that has it
	seen        []float64 // what the observers are predicted to see of it, in the mean
	plain       []float64 // the form, all samples alike
	equal       [maxRows][]float64
	least, most []float64
	z           []float64
	steps       int
}

// newAlike sets the equations up and finds the most light.
func newAlike(m *quality.Mixing, p Palette, t colorcalc.UV) (*alike, error) {
	n := len(p.Full)
	if n != m.Emitters() || n != len(p.Most) || n > model.MaxEmitters || p.Least != nil && n != len(p.Least) {
		return nil, fmt.Errorf("%d emitters of %d described, %d bounds: want as many, at most %d", n, m.Emitters(), len(p.Most), model.MaxEmitters)
	}
	unit := 0.0 // the linear program counts in lights of about one
	for _, f := range p.Full {
		unit = max(unit, f.Y)
	}
	a := &alike{m: m, p: p, least: make([]float64, n), most: make([]float64, n), z: make([]float64, n)}
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
	}
	lp := a.linear(1, nil)
	if !lp.solve() || !(lp.obj > leastOutput) {
		return nil, ErrNoMix
	}
	a.top = lp.obj
	for j := range n {
		a.bright = append(a.bright, lp.x[j]/a.top)
	}
	a.seen = make([]float64, len(m.Observers()))
	de := make([]float64, len(a.seen)*quality.Samples)
	m.Predict(de, a.bright)
	for i, v := range de {
		a.seen[i/quality.Samples] += v / quality.Samples
	}
	a.plain = make([]float64, n*n)
	m.Form(a.plain, nil)
	return a, nil
}

// linear asks for the most light with what was decided of the emitters: one that is lit gives so much
// that at the floor of the level it still gives its least.
func (a *alike) linear(floor float64, decided []lit) program {
	lp := program{n: len(a.p.Full), rows: 2}
	copy(lp.hi[:], a.p.Most)
	for j := range a.p.Full {
		lp.a[0][j], lp.a[1][j], lp.c[j] = a.equal[0][j], a.equal[1][j], a.equal[2][j]
		switch {
		case decided == nil:
		case decided[j] == isDark:
			lp.hi[j] = 0
		case decided[j] == isLit:
			lp.lo[j] = min(a.p.Least[j]/floor, a.p.Most[j])
		}
	}
	return lp
}

// begin starts at the brightest mix with what was decided of the emitters (nil: nothing), in the box of a level floor.
// Errors: ErrNoMix.
func (a *alike) begin(floor float64, decided []lit) error {
	lp := a.linear(floor, decided)
	if !lp.solve() || lp.obj < floor*a.top*(1-activeZero) {
		return ErrNoMix
	}
	for j := range a.z {
		a.most[j] = lp.hi[j] / (floor * a.top)
		a.least[j] = min(lp.lo[j]/a.top, a.most[j])
		a.z[j] = min(max(lp.x[j]/lp.obj, a.least[j]), a.most[j])
	}
	return nil
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
	for i := range n {
		for j := range n {
			mix.Form += z[i] * a.plain[i*n+j] * z[j]
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
	if !guard || len(a.seen) == 1 {
		return a.result(a.z)
	}
	chord := make([][3]float64, len(a.seen)*quality.Samples)
	a.m.Chord(chord, from, a.z)
	means := func(f float64) []float64 {
		out := make([]float64, len(a.seen))
		for i, c := range chord {
			out[i/quality.Samples] += math.Sqrt(max(c[0]+f*(c[1]+f*c[2]), 0)) / quality.Samples
		}
		return out
	}
	worse := func(f float64) bool {
		for i, v := range means(f) {
			if v > a.seen[i]+guardSlack {
				return true
			}
		}
		return false
	}
	switch {
	case !worse(1):
		return a.result(a.z)
	case worse(0): // an emitter was kept dark or lit that is not so at the brightest
		return AlikeMix{}, ErrNoMix
	}
	lo, hi := 0.0, 1.0
	for range guardHalves {
		if mid := (lo + hi) / 2; worse(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	at := slices.Clone(from)
	for j := range at {
		at[j] += lo * (a.z[j] - at[j])
	}
	return a.result(at)
}
