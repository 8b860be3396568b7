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

// solve runs the bounded primal simplex method with artificial variables
// (Dantzig 1963, chapter 18; Bland's rule after the first steps, so it ends).
func (p *program) solve() bool {
	const W = model.MaxEmitters + maxRows
	n, m := p.n, p.rows
	var t [maxRows][W]float64 // B^-1 A
	var val [maxRows]float64  // of the basic variables
	var up [W]bool            // nonbasic at its upper bound
	var in [W]bool
	var cost, lo, hi [W]float64
	copy(cost[:], p.c[:n])
	copy(lo[:], p.lo[:n])
	copy(hi[:], p.hi[:n])
	p.feasible = false
	for r := range m {
		rest := p.b[r]
		for j := range n {
			rest -= p.a[r][j] * lo[j]
		}
		s := 1.0
		if rest < 0 {
			s = -1
		}
		for j := range n {
			t[r][j] = s * p.a[r][j]
		}
		k := n + r
		t[r][k], cost[k], hi[k] = 1, -bigM, math.Inf(1)
		val[r], p.basis[r], in[k] = s*rest, k, true
	}
	for iter := range lpMaxIter {
		enter, best := -1, lpEps
		for j := range n {
			if in[j] || hi[j] <= lo[j] {
				continue
			}
			d := cost[j]
			for r := range m {
				d -= cost[p.basis[r]] * t[r][j]
			}
			if up[j] {
				d = -d
			}
			if d > best {
				enter = j
				if iter > lpBland {
					break
				}
				best = d
			}
		}
		if enter < 0 {
			break
		}
		dir := 1.0
		if up[enter] {
			dir = -1
		}
		step, leave, toUp := hi[enter]-lo[enter], -1, false
		for r := range m {
			a, k := dir*t[r][enter], p.basis[r]
			switch {
			case a > lpEps:
				if s := (val[r] - lo[k]) / a; s < step {
					step, leave, toUp = s, r, false
				}
			case a < -lpEps:
				if s := (val[r] - hi[k]) / a; s < step {
					step, leave, toUp = s, r, true
				}
			}
		}
		step = math.Max(step, 0)
		for r := range m {
			val[r] -= step * dir * t[r][enter]
		}
		if leave < 0 {
			up[enter] = !up[enter]
			continue
		}
		from := lo[enter]
		if up[enter] {
			from = hi[enter]
		}
		out := p.basis[leave]
		in[out], up[out] = false, toUp
		in[enter], up[enter] = true, false
		p.basis[leave], val[leave] = enter, from+dir*step
		pv := t[leave][enter]
		for j := range n + m {
			t[leave][j] /= pv
		}
		for r := range m {
			if f := t[r][enter]; r != leave && f != 0 {
				for j := range n + m {
					t[r][j] -= f * t[leave][j]
				}
			}
		}
	}
	for j := range n {
		p.x[j] = lo[j]
		if up[j] {
			p.x[j] = hi[j]
		}
	}
	p.feasible = true
	for r := range m {
		k := p.basis[r]
		if k < n {
			p.x[k] = num.Clamp(val[r], lo[k], hi[k])
			continue
		}
		if val[r] > lpGap {
			p.feasible = false
		}
		p.basis[r] = -1
	}
	p.obj = 0
	for j := range n {
		p.obj += p.c[j] * p.x[j]
	}
	return p.feasible
}
