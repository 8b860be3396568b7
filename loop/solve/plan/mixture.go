package plan

import (
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/loop/solve/model"
)

// mixture turns a state into a drive for a chromaticity. It remembers the
// emitters chosen, so that small corrections do not change which are lit.
type mixture struct {
	m     *model.Mixture
	n     int // emitters
	s     *model.Spec
	wish  Wish
	level float64
	like  *Likeness     // of a wish that needs spectra; nil: none is known
	view  *quality.View // of what it has for a reference; nil: not looked at yet
	pref  [model.MaxEmitters]float64
	trims bool // only small steps of the emitters that are lit are asked for

	held     bool
	basis    [3]int
	renewals int     // of a mix by spectra, in mid-match
	renewed  bool    // by the last plan
	y        float64 // light asked for, model units
	absY     float64 // light asked for as the meter counts it; 0 = by level

	// of the state in hand
	law          int
	x            []float64
	least        float64 // drive of a lit emitter at the least
	shallow      bool    // an emitter was dark below lastDrive
	dim          float64 // light that the dimmer lets through
	background   colorcalc.XYZ
	full         [model.MaxEmitters]colorcalc.XYZ // light at p = 1
	plo, phi, pm [model.MaxEmitters]float64       // bounds of p; pm = p of minDrive
	lp           program
}

// NewMixture plans for a head with one channel per emitter. level is the fraction
// of the most light at a chromaticity that is asked for, unless AskLevel says
// otherwise. like is what a wish that needs spectra chooses by; nil: the head is planned for MostWhite.
func NewMixture(m *model.Mixture, s *model.Spec, wish Wish, level float64, like *Likeness) Planner {
	e := &mixture{m: m, n: m.Emitters(), s: s, wish: wish, level: level}
	if wish.BySpectra() {
		e.like = like
	}
	for i, em := range s.Emitters {
		e.pref[i] = em.Preference()
	}
	return e
}

// NewTrimming plans small steps of a head that stands lit, with the emitters that are lit.
func NewTrimming(m *model.Mixture, s *model.Spec) Planner {
	e := NewMixture(m, s, LeastMoved, 1, nil).(*mixture)
	e.trims = true
	return e
}

// AskLevel asks for a level as the meter counts it.
func (e *mixture) AskLevel(y float64) { e.absY = y }

// Release forgets the basis.
func (e *mixture) Release() { e.held = false }

// Fresh plans on a copy.
func (e *mixture) Fresh(law int, x, now []float64, t colorcalc.UV, tol float64) Plan {
	c := *e
	c.held, c.like = false, nil // only where it leads is asked
	p, _ := c.Plan(law, x, now, t, tol)
	return p
}

// load takes in a state; now is the present drive (for the dimmer).
func (e *mixture) load(law int, x, now []float64) {
	e.law, e.x = law, x
	e.dim = 1
	if k := e.m.Dimmer(); k >= 0 {
		e.dim = max(e.m.DimmerLight(x, now[k]), leastDimmer)
	}
	e.background = e.m.Background(x)
	for i := range e.n {
		e.full[i] = e.m.Full(x, i, e.dim)
		c := e.s.Channels[i]
		e.plo[i] = e.p(e.s.Drive(i, c.Lo))
		e.phi[i] = e.p(e.s.Drive(i, c.Hi))
		e.pm[i] = min(e.p(e.least), e.phi[i])
	}
}

// p is the light fraction of an emitter at drive d, d the drive for a fraction p.
func (e *mixture) p(d float64) float64 { return e.m.Light(e.law, e.x, d) }
func (e *mixture) d(p float64) float64 { return e.m.Drive(e.law, e.x, p) }

// uvOf is the mixture's chromaticity without the local offset.
func (e *mixture) uvOf(p []float64) colorcalc.UV {
	q := e.background
	for i := range e.n {
		q.X += p[i] * e.full[i].X
		q.Y += p[i] * e.full[i].Y
		q.Z += p[i] * e.full[i].Z
	}
	d := max(q.X+15*q.Y+3*q.Z, leastLight)
	return colorcalc.UV{U: 4 * q.X / d, V: 9 * q.Y / d}
}

// rows sets the equations of chromaticity t and, when y > 0, of the level.
func (e *mixture) rows(t colorcalc.UV, y float64) {
	lp, a := &e.lp, e.background
	lp.n, lp.rows = e.n, 2
	ad := a.X + 15*a.Y + 3*a.Z
	lp.b[0], lp.b[1] = t.U*ad-4*a.X, t.V*ad-9*a.Y
	for i := range e.n {
		f := e.full[i]
		d := f.X + 15*f.Y + 3*f.Z
		lp.a[0][i], lp.a[1][i] = 4*f.X-t.U*d, 9*f.Y-t.V*d
		lp.c[i] = f.Y
	}
	if y > 0 {
		lp.rows = 3
		lp.b[2] = y - a.Y
		for i := range e.n {
			lp.a[2][i] = e.full[i].Y
			lp.c[i] = e.pref[i]
			switch {
			case e.wish == MostOutput:
				lp.c[i] = 0
			case e.wish == HoldLevel:
				lp.c[i] = -1 / max(e.phi[i], leastLit)
			case e.wish == LeastMoved && len(e.s.Start) > i:
				// first order: reward what already shines
				lp.c[i] = e.s.Drive(i, e.s.Start[i])
			}
		}
	}
}

// maxY is the most light at chromaticity t, in model units; ok is false when t
// is out of reach. What is left of the background, which the head does not make, does not bring it there: next to the dark that alone may have the colour.
func (e *mixture) maxY(t colorcalc.UV) (y float64, ok bool) {
	e.rows(t, 0)
	e.lp.lo, e.lp.hi = e.plo, e.phi
	if !e.lp.solve() {
		return 0, false
	}
	top := e.lp.obj
	return top + e.background.Y, top > leastOutput && !e.faint(top, t)
}

// faint tells whether the most light of a colour is so little beside what is left of the background, and beside the colour nearest to it that the
// emitters give by themselves, that it is the background's: without that they give far less of it, or none.
func (e *mixture) faint(top float64, t colorcalc.UV) bool {
	b := e.background
	if left := max(math.Abs(b.X), math.Abs(b.Y), math.Abs(b.Z)); top > outshines*left {
		return false
	}
	e.background = colorcalc.XYZ{}
	defer func() { e.background = b }()
	e.rows(t, 0)
	e.lp.lo, e.lp.hi = e.plo, e.phi
	if e.lp.solve() && e.lp.obj > nearestLit*top {
		return false
	}
	q := e.nearestPair(t)
	return top < nearestLit*e.lampY(&q)
}

// mix solves the program at level y with no emitter between dark and its
// cut-off: branch on the first that is, so many deep.
func (e *mixture) mix(t colorcalc.UV, y float64, depth int, best *program) bool {
	e.lp.lo, e.lp.hi = e.plo, e.phi
	e.rows(t, y)
	return e.branch(e.plo, e.phi, depth, best)
}

func (e *mixture) branch(lo, hi [model.MaxEmitters]float64, depth int, best *program) bool {
	e.lp.lo, e.lp.hi = lo, hi
	if !e.lp.solve() || best.feasible && e.lp.obj <= best.obj {
		return false
	}
	for i := range e.n {
		if p := e.lp.x[i]; p > leastLit && p < e.pm[i]-sameLight {
			if depth == 0 {
				return false
			}
			h2, l2 := hi, lo
			h2[i], l2[i] = lo[i], e.pm[i]
			a := e.branch(lo, h2, depth-1, best)
			b := e.branch(l2, hi, depth-1, best)
			return a || b
		}
	}
	*best = e.lp
	return true
}

// Plan holds the basis while that works; else it chooses the mixture anew.
func (e *mixture) Plan(law int, x, now []float64, t colorcalc.UV, tol float64) (pl Plan, reachable bool) {
	e.least = minDrive
	e.load(law, x, now)
	var p [model.MaxEmitters]float64
	for i := range e.n {
		p[i] = e.p(now[i])
	}
	if e.absY > 0 {
		e.y = e.absY / e.m.Scale(x)
	}
	e.renewed = false
	if e.held && e.levelIsNear(p[:]) {
		if e.hold(p[:], t, 1) || e.atAskedLevel(p[:], t) || e.hold(p[:], t, holdLevels[:]...) || e.local(p[:], t, nearEnough*tol) {
			e.renewed = e.renew(p[:], t)
			pl := e.quantise(p[:], now, t)
			pl.Renewed = e.renewed
			return pl, true
		}
	}
	top, ok := e.maxY(t)
	if ok && e.absY > 0 && e.m.Dimmer() >= 0 && (e.y > dimAbove*top || e.y < dimBelow*top) {
		now = e.dimTo(now, e.y/(dimPart*top))
		e.load(law, x, now)
		top, ok = e.maxY(t)
	}
	if ok && e.choose(p[:], now, t, top) {
		return e.quantise(p[:], now, t), true
	}
	e.held = false
	e.nearest(p[:], t)
	return e.quantise(p[:], now, t), false
}

// atAskedLevel chooses the emitters anew where those that are held do not give the level that is asked for: one of them has come to its end, or
// would go dark, and others may give it. It reports whether they do.
func (e *mixture) atAskedLevel(p []float64, t colorcalc.UV) bool {
	if !(e.absY > 0) {
		return false
	}
	top, ok := e.maxY(t)
	if !ok || e.y > mostLevel*top {
		return false
	}
	var best program
	if !e.mix(t, e.y, branchDeep, &best) {
		return false
	}
	e.take(&best, p)
	return true
}

// take has the emitters of a program held from now on, and gives them as the mixture p.
func (e *mixture) take(best *program, p []float64) {
	copy(p, best.x[:e.n])
	e.held = true
	copy(e.basis[:], best.basis[:])
}

// levelIsNear reports whether mixture p gives about the level that is asked for:
// a large step of level is worth another choice of emitters.
func (e *mixture) levelIsNear(p []float64) bool {
	if !(e.absY > 0) {
		return true
	}
	y := e.background.Y
	for i := range e.n {
		y += p[i] * e.full[i].Y
	}
	return math.Abs(math.Log(max(y, leastLight)/e.y)) < levelJump
}

// wanted is the light asked for, where top is the most.
func (e *mixture) wanted(top float64) float64 {
	switch want := e.level * top; {
	case e.absY > 0:
		return min(e.y, mostLevel*top)
	case e.wish == MostOutput:
		return max(want, mostOutput*top)
	default:
		return want
	}
}

// choose solves the program at the level asked for, then at others near it, and
// with emitters lower and lower; the emitters chosen are held from then on. top is
// the most light at t.
func (e *mixture) choose(p, now []float64, t colorcalc.UV, top float64) bool {
	want := e.wanted(top)
	if e.like != nil && e.chooseAlike(p, t, top, want) {
		return true
	}
	for _, least := range [...]float64{minDrive, lastDrive, deepDrive} {
		if least < lastDrive && e.shallow {
			break
		}
		if e.least = least; least != minDrive {
			e.load(e.law, e.x, now)
		}
		for _, f := range levels {
			var best program
			if e.mix(t, min(f*want, mostMix*top), branchDeep, &best) {
				e.take(&best, p)
				e.y = f * want
				return true
			}
		}
	}
	return false
}
