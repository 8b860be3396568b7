package solve

import (
	"math"

	"trueup/colorcalc"
)

// plan is a drive and what the model expects of it.
type plan struct {
	drive Drive
	d     []float64 // drive as fractions of Max
	err   float64   // predicted distance from the goal, u'v'
}

// minDrive is the lowest drive of a lit emitter: below it many lamps cut off or
// flicker, so an emitter is dark or at least here. Where the target can not be
// reached so, lastDrive is tried, and at the very last deepDrive, where many
// lamps are dark: the reading tells, and then it is not tried again.
const (
	minDrive  = 0.02
	lastDrive = 0.016
	deepDrive = 0.012
)

// emitterSolver turns a state into a drive for a chromaticity. It remembers the
// emitters chosen, so that small corrections do not change which are lit.
type emitterSolver struct {
	m     *emitterModel
	s     *Spec
	wish  Wish
	level float64
	pref  [maxEmitters]float64

	held  bool
	basis [3]int
	y     float64 // light asked for, model units
	absY  float64 // light asked for as the meter counts it; 0 = by level

	// of the state in hand
	law          int
	x            []float64
	least        float64 // drive of a lit emitter at the least
	shallow      bool    // an emitter was dark below lastDrive
	dim          float64
	full         [maxEmitters]colorcalc.XYZ // light at p = 1
	plo, phi, pm [maxEmitters]float64       // bounds of p; pm = p of minDrive
	lp           program
}

func newEmitterSolver(m *emitterModel, s *Spec, o Options) *emitterSolver {
	e := &emitterSolver{m: m, s: s, wish: o.Wish, level: o.Level}
	for i, em := range s.Emitters {
		e.pref[i] = preference(em)
	}
	return e
}

// load takes in a state; now is the present drive (for the dimmer).
func (e *emitterSolver) load(law int, x, now []float64) {
	e.law, e.x = law, x
	nb := 3 * e.m.n
	e.dim = 1
	if e.m.dim0 >= 0 {
		e.dim, _ = response(e.m.dimmer, now[e.m.dim0], x[nb+offDim])
		e.dim = math.Max(e.dim, 1e-3)
	}
	for i := range e.m.n {
		y := e.dim * math.Exp(x[3*i+2]-e.m.droop[i]*(x[nb+offWarm]-1))
		e.full[i] = colorcalc.UV{U: x[3*i], V: x[3*i+1]}.XYZ(y)
		c := e.s.Channels[i]
		e.plo[i] = e.p(float64(c.Lo) / float64(c.Max))
		e.phi[i] = e.p(float64(c.Hi) / float64(c.Max))
		e.pm[i] = math.Min(e.p(e.least), e.phi[i])
	}
}

func (e *emitterSolver) p(d float64) float64 {
	p, _ := response(e.m.curves[e.law], d, e.x[3*e.m.n+offKappa])
	return p
}

func (e *emitterSolver) d(p float64) float64 {
	return invResponse(e.m.curves[e.law], p, e.x[3*e.m.n+offKappa])
}

func (e *emitterSolver) ambient() colorcalc.XYZ {
	a := e.x[3*e.m.n+offAmb:]
	return colorcalc.XYZ{X: a[0], Y: a[1], Z: a[2]}
}

// uvOf is the mixture's chromaticity without the local offset.
func (e *emitterSolver) uvOf(p []float64) colorcalc.UV {
	q := e.ambient()
	for i := range e.m.n {
		q.X += p[i] * e.full[i].X
		q.Y += p[i] * e.full[i].Y
		q.Z += p[i] * e.full[i].Z
	}
	d := math.Max(q.X+15*q.Y+3*q.Z, 1e-9)
	return colorcalc.UV{U: 4 * q.X / d, V: 9 * q.Y / d}
}

// rows sets the equations of chromaticity t and, when y > 0, of the level.
func (e *emitterSolver) rows(t colorcalc.UV, y float64) {
	lp, a := &e.lp, e.ambient()
	lp.n, lp.rows = e.m.n, 2
	ad := a.X + 15*a.Y + 3*a.Z
	lp.b[0], lp.b[1] = t.U*ad-4*a.X, t.V*ad-9*a.Y
	for i := range e.m.n {
		f := e.full[i]
		d := f.X + 15*f.Y + 3*f.Z
		lp.a[0][i], lp.a[1][i] = 4*f.X-t.U*d, 9*f.Y-t.V*d
		lp.c[i] = f.Y
	}
	if y > 0 {
		lp.rows = 3
		lp.b[2] = y - a.Y
		for i := range e.m.n {
			lp.a[2][i] = e.full[i].Y
			lp.c[i] = e.pref[i]
			if e.wish == MostOutput {
				lp.c[i] = 0
			}
			if e.wish == LeastMoved && len(e.s.Start) > i {
				// first order: reward what already shines
				lp.c[i] = float64(e.s.Start[i]) / float64(e.s.Channels[i].Max)
			}
		}
	}
}

// maxY is the most light at chromaticity t, in model units; ok is false when t
// is out of reach.
func (e *emitterSolver) maxY(t colorcalc.UV) (y float64, ok bool) {
	e.rows(t, 0)
	e.lp.lo, e.lp.hi = e.plo, e.phi
	if !e.lp.solve() {
		return 0, false
	}
	return e.lp.obj + e.ambient().Y, e.lp.obj > 1e-6
}

// mix solves the program at level y with no emitter between dark and its
// cut-off: branch on the first that is, at most three deep.
func (e *emitterSolver) mix(t colorcalc.UV, y float64, depth int, best *program) bool {
	e.lp.lo, e.lp.hi = e.plo, e.phi
	e.rows(t, y)
	return e.branch(e.plo, e.phi, depth, best)
}

func (e *emitterSolver) branch(lo, hi [maxEmitters]float64, depth int, best *program) bool {
	e.lp.lo, e.lp.hi = lo, hi
	if !e.lp.solve() || best.feasible && e.lp.obj <= best.obj {
		return false
	}
	for i := range e.m.n {
		if p := e.lp.x[i]; p > 1e-9 && p < e.pm[i]-1e-12 {
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

// levels are the fractions of the asked light that are tried in turn.
var levels = [...]float64{1, 0.94, 0.85, 0.7, 0.5, 0.3, 0.15, 0.07, 1.03}

// solve plans a drive for chromaticity t (local offset already taken off) from
// the present drive now. reachable is false when only the nearest point is left.
func (e *emitterSolver) solve(law int, x, now []float64, t colorcalc.UV, tol float64, fresh bool) (pl plan, reachable bool) {
	e.least = minDrive
	e.load(law, x, now)
	var p [maxEmitters]float64
	for i := range e.m.n {
		p[i] = e.p(now[i])
	}
	hold := e.held && !fresh
	if e.absY > 0 {
		e.y = e.absY / math.Exp(x[3*e.m.n+offG])
		y := e.ambient().Y
		for i := range e.m.n {
			y += p[i] * e.full[i].Y
		}
		hold = hold && math.Abs(math.Log(math.Max(y, 1e-9)/e.y)) < levelJump
	}
	if hold {
		if e.hold(p[:], t) || e.local(p[:], t, nearEnough*tol) {
			return e.quantise(p[:], now, t), true
		}
	}
	top, ok := e.maxY(t)
	if ok && e.absY > 0 && e.m.dim0 >= 0 && (e.y > 0.98*top || e.y < 0.08*top) {
		now = e.dimTo(now, e.y/(0.6*top))
		e.load(law, x, now)
		top, ok = e.maxY(t)
	}
	if ok {
		want := e.level * top
		switch {
		case e.absY > 0:
			want = math.Min(e.y, 0.999*top)
		case e.wish == MostOutput:
			want = math.Max(want, 0.97*top)
		}
		for _, least := range [...]float64{minDrive, lastDrive, deepDrive} {
			if least < lastDrive && e.shallow {
				break
			}
			if e.least = least; least != minDrive {
				e.load(law, x, now)
			}
			for _, f := range levels {
				var best program
				if e.mix(t, math.Min(f*want, 0.9999*top), 4, &best) {
					copy(p[:], best.x[:e.m.n])
					e.held, e.y = true, f*want
					copy(e.basis[:], best.basis[:])
					return e.quantise(p[:], now, t), true
				}
			}
		}
	}
	e.held = false
	e.nearest(p[:], t)
	return e.quantise(p[:], now, t), false
}
