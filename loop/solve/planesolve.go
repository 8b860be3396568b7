package solve

import (
	"math"

	"trueup/colorcalc"
)

// planeSolver turns a state into a drive for a chromaticity.
type planeSolver struct {
	m    *planeModel
	s    *Spec
	absY float64 // light asked for as the meter counts it; 0 = the dimmer stays
}

// leastXY is the smallest x and y that is ever asked of an xy mode.
const leastXY = 0.03

// solve finds the drive whose predicted colour (local offset taken off the
// target t) is nearest: Newton from the present drive and from the best of a
// coarse grid, then a pattern search if Newton leaves something, then the
// lattice of codes.
func (e *planeSolver) solve(law int, x, now []float64, t colorcalc.UV, tol float64, fresh bool) (plan, bool) {
	ch := e.m.law.channels()
	dims := len(ch)
	lo, hi := e.box()
	miss := func(d [2]float64) (float64, float64) {
		u, v := e.m.law.at(law, x, d[0], d[1])
		return u - t.U, v - t.V
	}
	err := func(d [2]float64) float64 { return math.Hypot(miss(d)) }
	best := [2]float64{}
	for k, c := range ch {
		best[k] = clamp(now[c], lo[k], hi[k])
	}
	top := math.Inf(1)
	steps := e.m.detents(lo[0], hi[0])
	switch {
	case len(steps) > 0:
		best, top = e.stepwise(steps, miss, best, lo, hi, dims)
	case !fresh:
		best, top = e.newton(miss, best, lo, hi, dims)
	}
	if top > 0.05*tol && len(steps) == 0 {
		start, low := best, math.Inf(1)
		for i := range 9 {
			for j := range 9 {
				d := [2]float64{lo[0] + (hi[0]-lo[0])*float64(i)/8, lo[1] + (hi[1]-lo[1])*float64(j)/8}
				if v := err(d); v < low {
					start, low = d, v
				}
				if dims == 1 {
					break
				}
			}
		}
		if d, v := e.newton(miss, start, lo, hi, dims); v < top {
			best, top = d, v
		}
		if top > 0.05*tol {
			if d, v := pattern(err, start, low, lo, hi, dims); v < top {
				best, top = d, v
			}
			if d, v := pattern(err, best, top, lo, hi, dims); v < top {
				best, top = d, v
			}
		}
	}
	pl := e.quantise(err, best, now)
	if e.absY > 0 && e.m.dim0 >= 0 {
		c := e.s.Channels[e.m.dim0]
		pl.drive[e.m.dim0] = codeOf(c, invResponse(e.m.dimmer, math.Min(e.absY/math.Exp(x[e.m.n]), 1), x[e.m.n+3]))
		pl.d[e.m.dim0] = float64(pl.drive[e.m.dim0]) / float64(c.Max)
	}
	return pl, top <= 0.6*tol
}

// box is the allowed range of the parameters as fractions.
func (e *planeSolver) box() (lo, hi [2]float64) {
	for k, c := range e.m.law.channels() {
		s := e.s.Channels[c]
		lo[k], hi[k] = float64(s.Lo)/float64(s.Max), float64(s.Hi)/float64(s.Max)
	}
	if l, ok := e.m.law.(*xyLaw); ok { // x and y of no colour make many lamps go dark
		for k, r := range [2][2]float64{{l.s.AtZero.X, l.s.AtMax.X}, {l.s.AtZero.Y, l.s.AtMax.Y}} {
			if r[1] > r[0] {
				lo[k] = clamp((leastXY-r[0])/(r[1]-r[0]), lo[k], hi[k])
			}
		}
	}
	return lo, hi
}

// stepwise tries every step of a scale in steps, with the tint that suits it.
func (e *planeSolver) stepwise(steps []float64, miss func([2]float64) (float64, float64), now, lo, hi [2]float64, dims int) (best [2]float64, top float64) {
	best, top = now, math.Inf(1)
	for _, a := range steps {
		one := func(q [2]float64) (float64, float64) { return miss([2]float64{a, q[0]}) }
		if dims == 1 {
			if v := math.Hypot(one(now)); v < top {
				best, top = [2]float64{a, now[1]}, v
			}
			continue
		}
		for _, b := range [...]float64{now[1], lo[1], (lo[1] + hi[1]) / 2, hi[1]} {
			d, v := e.newton(one, [2]float64{b}, [2]float64{lo[1]}, [2]float64{hi[1]}, 1)
			if v < top {
				best, top = [2]float64{a, d[0]}, v
			}
		}
	}
	return best, top
}

func (e *planeSolver) newton(miss func([2]float64) (float64, float64), d, lo, hi [2]float64, dims int) ([2]float64, float64) {
	ru, rv := miss(d)
	top := math.Hypot(ru, rv)
	const h = 1e-4
	for range 12 {
		if top < 1e-7 {
			break
		}
		var j [2][2]float64
		for k := range dims {
			q, s := d, h
			if q[k]+s > hi[k] {
				s = -h
			}
			q[k] += s
			a, b := miss(q)
			j[k] = [2]float64{(a - ru) / s, (b - rv) / s}
		}
		var st [2]float64
		if dims == 1 {
			den := j[0][0]*j[0][0] + j[0][1]*j[0][1]
			if !(den > 0) {
				break
			}
			st[0] = -(j[0][0]*ru + j[0][1]*rv) / den
		} else {
			det := j[0][0]*j[1][1] - j[1][0]*j[0][1]
			if !(math.Abs(det) > 1e-12) {
				break
			}
			st[0] = -(j[1][1]*ru - j[1][0]*rv) / det
			st[1] = -(j[0][0]*rv - j[0][1]*ru) / det
		}
		ok := false
		for range 6 { // halve at most six times, then give up
			var q [2]float64
			for k := range dims {
				q[k] = clamp(d[k]+st[k], lo[k], hi[k])
			}
			a, b := miss(q)
			if v := math.Hypot(a, b); v < top {
				d, ru, rv, top, ok = q, a, b, v, true
				break
			}
			st[0] /= 2
			st[1] /= 2
		}
		if !ok {
			break
		}
	}
	return d, top
}

// pattern is a compass search in the box with a shrinking step.
func pattern(f func([2]float64) float64, d [2]float64, top float64, lo, hi [2]float64, dims int) ([2]float64, float64) {
	for step := 0.1; step > 1e-6; step /= 2 {
		for moved, turns := true, 0; moved && turns < 20; turns++ {
			moved = false
			for _, s := range [...][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
				q := d
				for k := range dims {
					q[k] = clamp(q[k]+step*s[k], lo[k], hi[k])
				}
				if v := f(q); v < top-1e-9 {
					d, top, moved = q, v, true
				}
			}
		}
	}
	return d, top
}

func (e *planeSolver) quantise(err func([2]float64) float64, d [2]float64, now []float64) plan {
	out := plan{drive: make(Drive, len(e.s.Channels)), d: make([]float64, len(e.s.Channels)), err: math.Inf(1)}
	for i, c := range e.s.Channels {
		out.drive[i] = codeOf(c, now[i])
	}
	ch := e.m.law.channels()
	var c0, best [2]int64
	for k, c := range ch {
		c0[k] = int64(codeOf(e.s.Channels[c], d[k]))
	}
	for i := int64(-1); i <= 1; i++ {
		for j := int64(-1); j <= 1; j++ {
			q, ok := [2]float64{}, true
			at := [2]int64{c0[0] + i, c0[1] + j}
			for k, c := range ch {
				s := e.s.Channels[c]
				ok = ok && at[k] >= int64(s.Lo) && at[k] <= int64(s.Hi)
				q[k] = float64(at[k]) / float64(s.Max)
			}
			if !ok || len(ch) == 1 && j != 0 {
				continue
			}
			if v := err(q); v < out.err {
				out.err, best = v, at
			}
		}
	}
	for k, c := range ch {
		out.drive[c] = uint32(best[k])
	}
	for i, c := range e.s.Channels {
		out.d[i] = float64(out.drive[i]) / float64(c.Max)
	}
	return out
}

// dimLean is the colour shift of a dimmer, u'v' per unit of ln light.
const dimLean = 0.001

// dimShift is the variance of u' and v' that moving a dimmer brings.
func dimShift(c Curve, from, to float64) float64 {
	k := dimLean * math.Log(math.Max(c.light(to), 1e-3)/math.Max(c.light(from), 1e-3))
	return k * k
}
