package plan

import (
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// dimTo is the present drive with the dimmer at k times its light, within its
// allowed codes.
func (e *mixture) dimTo(now []float64, k float64) []float64 {
	out := append([]float64(nil), now...)
	i := e.m.Dimmer()
	out[i] = e.s.Drive(i, e.s.Code(i, e.m.DimmerDrive(e.x, min(k*e.dim, 1))))
	return out
}

// hold moves only the three emitters of the basis: the equations of chromaticity
// and level are solved for them, A_B p_B = b - A_N p_N, the other emitters staying
// where they are, at the first of some fractions of the light asked for at which the three are within bounds.
func (e *mixture) hold(p []float64, t colorcalc.UV, levels ...float64) bool {
	for _, b := range e.basis {
		if b < 0 {
			return false
		}
	}
	for _, f := range levels {
		e.rows(t, f*e.y)
		var a [9]float64
		var b [3]float64
		for r := range 3 {
			b[r] = e.lp.b[r]
			for i := range e.n {
				switch i {
				case e.basis[0], e.basis[1], e.basis[2]:
				default:
					b[r] -= e.lp.a[r][i] * p[i]
				}
			}
			for k, i := range e.basis {
				a[3*r+k] = e.lp.a[r][i]
			}
		}
		if !num.Solve3(&a, &b) {
			return false
		}
		ok := true
		for k, i := range e.basis {
			ok = ok && b[k] >= max(e.pm[i], e.plo[i]) && b[k] <= e.phi[i]
		}
		if ok {
			for k, i := range e.basis {
				p[i] = b[k]
			}
			return true
		}
	}
	return false
}

// local is Newton's method with the emitters that are lit, bounded, each step of
// least norm: for the residual r = t - uv(p) and its Jacobian J, 2 x lit,
//
//	dp = J' (J J')^-1 r
//
// It reports whether it came within the distance asked for. Of a head that is trimmed, an emitter that stands at its
// end and is pushed on leaves the step to the others: there is no other choice of emitters to fall back on.
func (e *mixture) local(p []float64, t colorcalc.UV, within float64) bool {
	var q [model.MaxEmitters]float64
	copy(q[:], p)
	var free [model.MaxEmitters]bool
	lit := 0
	for i := range e.n {
		if free[i] = q[i] >= e.pm[i]-sameLight && q[i] > 0; free[i] {
			lit++
		}
	}
	if lit < 2 {
		return false
	}
	for range newtonTurns {
		uv := e.uvOf(q[:])
		ru, rv := t.U-uv.U, t.V-uv.V
		if math.Hypot(ru, rv) < within/localEnough {
			break
		}
		a := e.background
		D := a.X + 15*a.Y + 3*a.Z
		for i := range e.n {
			f := e.full[i]
			D += q[i] * (f.X + 15*f.Y + 3*f.Z)
		}
		var ju, jv [model.MaxEmitters]float64
		var uu, uw, vv float64
		for i := range e.n {
			if !free[i] {
				continue
			}
			f := e.full[i]
			d := f.X + 15*f.Y + 3*f.Z
			ju[i], jv[i] = (4*f.X-uv.U*d)/D, (9*f.Y-uv.V*d)/D
			uu += ju[i] * ju[i]
			uw += ju[i] * jv[i]
			vv += jv[i] * jv[i]
		}
		det := uu*vv - uw*uw
		if !(det > localSingular*uu*vv) {
			return false
		}
		lu, lv := (vv*ru-uw*rv)/det, (uu*rv-uw*ru)/det
		for i := range e.n {
			if !free[i] {
				continue
			}
			v := q[i] + ju[i]*lu + jv[i]*lv
			lo, hi := max(e.pm[i], e.plo[i]), e.phi[i]
			if v < lo || v > hi {
				v = num.Clamp(v, lo, hi)
				free[i] = !e.trims || v != q[i]
			}
			q[i] = v
		}
	}
	uv := e.uvOf(q[:])
	if math.Hypot(uv.U-t.U, uv.V-t.V) > within {
		return false
	}
	copy(p, q[:e.n])
	return true
}

// Near plans the smallest step with the emitters that are lit, if one reaches t.
func (e *mixture) Near(law int, x, now []float64, t colorcalc.UV, tol float64) (Plan, bool) {
	if e.renewed {
		return Plan{}, false // it would keep what was given up
	}
	e.least = minDrive
	e.load(law, x, now)
	var p [model.MaxEmitters]float64
	for i := range e.n {
		p[i] = e.p(now[i])
	}
	if !e.local(p[:], t, nearEnough*tol) {
		return Plan{}, false
	}
	return e.quantise(p[:], now, t), true
}

// Lit finds emitters out that are dark below lastDrive, and sends none there again.
func (e *mixture) Lit(d []float64, reading Reading, enough float64) []float64 {
	for i := range e.n {
		if !(d[i] > 0 && d[i] < lastDrive) || e.s.Scale(i).Place(d[i]) < float64(e.s.Channels[i].Lo)+0.5 {
			continue
		}
		dark := slices.Clone(d)
		dark[i] = 0
		if a, b := reading.Off(d), reading.Off(dark); darkFar*b < a && a > enough {
			d, e.shallow = dark, true
		}
	}
	return d
}
