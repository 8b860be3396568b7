package plan

import (
	"math"

	"trueup/loop/solve/num"
)

// newton is Newton's method in the parameters, within lo..hi, with a Jacobian J by
// differences: J s = -r for two parameters, least squares s = -J'r/J'J for one. A
// step that does not come nearer is halved (backtracking: Dennis and Schnabel 1983,
// section 6.3), newtonHalvings times; then the best so far stands. It returns that
// and how far it misses.
func (e *Engine) newton(miss func([2]float64) (float64, float64), d, lo, hi [2]float64, dims int) ([2]float64, float64) {
	ru, rv := miss(d)
	top := math.Hypot(ru, rv)
	const h = newtonStep
	for range newtonTurns {
		if top < newtonEnough {
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
			if !(math.Abs(det) > newtonSingular) {
				break
			}
			st[0] = -(j[1][1]*ru - j[1][0]*rv) / det
			st[1] = -(j[0][0]*rv - j[0][1]*ru) / det
		}
		ok := false
		for range newtonHalvings {
			var q [2]float64
			for k := range dims {
				q[k] = num.Clamp(d[k]+st[k], lo[k], hi[k])
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

// Pattern is a compass search in the box with a shrinking step.
func Pattern(f func([2]float64) float64, d [2]float64, top float64, lo, hi [2]float64, dims int) ([2]float64, float64) {
	for step := patternFirst; step > patternLast; step /= 2 {
		for moved, turns := true, 0; moved && turns < patternTurns; turns++ {
			moved = false
			for _, s := range [...][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
				q := d
				for k := range dims {
					q[k] = num.Clamp(q[k]+step*s[k], lo[k], hi[k])
				}
				if v := f(q); v < top-patternGain {
					d, top, moved = q, v, true
				}
			}
		}
	}
	return d, top
}
