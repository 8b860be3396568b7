package plan

import (
	"math"

	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// maxRows bounds the equations of a mixing program: two for a chromaticity and
// one for a level.
const maxRows = 3

// program is a small linear program with bounded variables:
// maximise c.x with A x = b and lo <= x <= hi.
type program struct {
	n, rows  int
	a        [maxRows][model.MaxEmitters]float64
	b        [maxRows]float64
	c        [model.MaxEmitters]float64
	lo, hi   [model.MaxEmitters]float64
	x        [model.MaxEmitters]float64 // solution
	basis    [maxRows]int               // variables between their bounds (or at one, if degenerate); -1 = none
	obj      float64
	feasible bool
}

// tableau is the state of the simplex method on a program: B^-1 A with the
// artificial variables behind the n of the program.
type tableau struct {
	n, m   int
	t      [maxRows][width]float64 // B^-1 A
	val    [maxRows]float64        // of the basic variables
	basis  [maxRows]int
	in     [width]bool // basic
	up     [width]bool // nonbasic at its upper bound
	cost   [width]float64
	lo, hi [width]float64
}

const width = model.MaxEmitters + maxRows

// solve runs the bounded primal simplex method with artificial variables
// (Dantzig 1963, chapter 18; Bland's rule after the first steps, so it ends).
func (p *program) solve() bool {
	var t tableau
	t.start(p)
	for iter := range lpMaxIter {
		enter := t.entering(iter > lpBland)
		if enter < 0 {
			break
		}
		dir := 1.0
		if t.up[enter] {
			dir = -1
		}
		step, leave, toUp := t.ratio(enter, dir)
		for r := range t.m {
			t.val[r] -= step * dir * t.t[r][enter]
		}
		if leave < 0 {
			t.up[enter] = !t.up[enter]
			continue
		}
		t.exchange(enter, leave, dir*step, toUp)
	}
	return p.read(&t)
}

// start puts every variable at its lower bound and an artificial one into each
// row for the rest.
func (t *tableau) start(p *program) {
	t.n, t.m = p.n, p.rows
	copy(t.cost[:], p.c[:t.n])
	copy(t.lo[:], p.lo[:t.n])
	copy(t.hi[:], p.hi[:t.n])
	for r := range t.m {
		rest := p.b[r]
		for j := range t.n {
			rest -= p.a[r][j] * t.lo[j]
		}
		s := 1.0
		if rest < 0 {
			s = -1
		}
		for j := range t.n {
			t.t[r][j] = s * p.a[r][j]
		}
		k := t.n + r
		t.t[r][k], t.cost[k], t.hi[k] = 1, -bigM, math.Inf(1)
		t.val[r], t.basis[r], t.in[k] = s*rest, k, true
	}
}

// entering is the variable with the largest reduced cost, or by Bland's rule the
// first with any; -1 = none improves.
func (t *tableau) entering(bland bool) int {
	enter, best := -1, lpEps
	for j := range t.n {
		if t.in[j] || t.hi[j] <= t.lo[j] {
			continue
		}
		d := t.cost[j]
		for r := range t.m {
			d -= t.cost[t.basis[r]] * t.t[r][j]
		}
		if t.up[j] {
			d = -d
		}
		if d > best {
			if enter = j; bland {
				break
			}
			best = d
		}
	}
	return enter
}

// ratio is how far a variable may move in a direction until a basic one meets a
// bound: which row leaves, and whether at its upper bound; -1 = it meets its own
// other bound first.
func (t *tableau) ratio(enter int, dir float64) (step float64, leave int, toUp bool) {
	step, leave = t.hi[enter]-t.lo[enter], -1
	for r := range t.m {
		a, k := dir*t.t[r][enter], t.basis[r]
		switch {
		case a > lpEps:
			if s := (t.val[r] - t.lo[k]) / a; s < step {
				step, leave, toUp = s, r, false
			}
		case a < -lpEps:
			if s := (t.val[r] - t.hi[k]) / a; s < step {
				step, leave, toUp = s, r, true
			}
		}
	}
	return max(step, 0), leave, toUp
}

// exchange makes a variable basic, moved by so much from its bound, in place of
// that of a row.
func (t *tableau) exchange(enter, leave int, move float64, toUp bool) {
	from := t.lo[enter]
	if t.up[enter] {
		from = t.hi[enter]
	}
	out := t.basis[leave]
	t.in[out], t.up[out] = false, toUp
	t.in[enter], t.up[enter] = true, false
	t.basis[leave], t.val[leave] = enter, from+move
	pv := t.t[leave][enter]
	for j := range t.n + t.m {
		t.t[leave][j] /= pv
	}
	for r := range t.m {
		if f := t.t[r][enter]; r != leave && f != 0 {
			for j := range t.n + t.m {
				t.t[r][j] -= f * t.t[leave][j]
			}
		}
	}
}

// read reads the solution off.
func (p *program) read(t *tableau) bool {
	p.basis = t.basis
	for j := range t.n {
		p.x[j] = t.lo[j]
		if t.up[j] {
			p.x[j] = t.hi[j]
		}
	}
	p.feasible = true
	for r := range t.m {
		k := t.basis[r]
		if k < t.n {
			p.x[k] = num.Clamp(t.val[r], t.lo[k], t.hi[k])
			continue
		}
		if t.val[r] > lpGap {
			p.feasible = false
		}
		p.basis[r] = -1
	}
	p.obj = 0
	for j := range t.n {
		p.obj += p.c[j] * p.x[j]
	}
	return p.feasible
}
