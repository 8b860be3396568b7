package plan

import (
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// nearest fills p with the mixture nearest to t in u'v': the best mixture of
// two emitters at full output (golden section in their ratio), then a pattern
// search in the box of all, because the background pulls the best point off
// the edge. It may not pull it into the dark: there the background alone may be nearer than any light of the head.
func (e *mixture) nearest(p []float64, t colorcalc.UV) {
	q := e.nearestPair(t)
	if e.n == 1 {
		q[0] = e.phi[0]
	}
	least := nearestLit * e.lampY(&q)
	e.descend(&q, &e.plo, t, least)
	e.darkOrLit(&q, t, least)
	copy(p, q[:e.n])
}

// lampY is the light of mixture q without the background, model units.
func (e *mixture) lampY(q *[model.MaxEmitters]float64) (y float64) {
	for i := range e.n {
		y += q[i] * e.full[i].Y
	}
	return y
}

// off is how far mixture q lies from t, u'v'.
func (e *mixture) off(q *[model.MaxEmitters]float64, t colorcalc.UV) float64 {
	uv := e.uvOf(q[:])
	return math.Hypot(uv.U-t.U, uv.V-t.V)
}

// nearestPair is the best mixture of two emitters, at full output.
func (e *mixture) nearestPair(t colorcalc.UV) (best [model.MaxEmitters]float64) {
	var q [model.MaxEmitters]float64
	top := math.Inf(1)
	for i := range e.n {
		for j := i + 1; j < e.n; j++ {
			q = e.plo
			at := func(s float64) float64 { // s in 0..1: from i alone to j alone
				a, b := 1.0, 1.0
				if s < 0.5 {
					b = 2 * s
				} else {
					a = 2 * (1 - s)
				}
				q[i], q[j] = max(e.plo[i], a*e.phi[i]), max(e.plo[j], b*e.phi[j])
				return e.off(&q, t)
			}
			if d := at(golden(at)); d < top-pairGain {
				top, best = d, q
			}
		}
	}
	return best
}

// darkOrLit takes emitters out from between dark and the cut-off: both are tried
// for the first few, and the others follow.
func (e *mixture) darkOrLit(q *[model.MaxEmitters]float64, t colorcalc.UV, least float64) {
	var between []int
	for i := range e.n {
		if q[i] > 0 && q[i] < e.pm[i] && len(between) < maxBetween {
			between = append(between, i)
		}
	}
	if len(between) == 0 {
		return
	}
	from, top := *q, math.Inf(1)
	for bits := range 1 << len(between) {
		w, lo := from, e.plo
		for k, i := range between {
			w[i] = e.plo[i]
			if bits>>k&1 == 1 {
				w[i], lo[i] = e.pm[i], e.pm[i]
			}
		}
		for i := range e.n {
			if w[i] >= e.pm[i] && w[i] > 0 {
				lo[i] = e.pm[i]
			}
		}
		e.descend(&w, &lo, t, least)
		for i := range e.n {
			if w[i] > 0 && w[i] < e.pm[i] {
				w[i] = e.plo[i]
			}
		}
		if d := e.off(&w, t); d < top && !(e.lampY(&w) < least) {
			top, *q = d, w
		}
	}
}

// descend is a pattern search for t from q within lo and the upper bounds, of mixtures that give the least light or more.
func (e *mixture) descend(q, lo *[model.MaxEmitters]float64, t colorcalc.UV, least float64) {
	n := e.n
	top := e.off(q, t)
	for step := searchFirst; step > searchLast; step /= 2 {
		for moved := true; moved; {
			moved = false
			for i := range n {
				was := q[i]
				for _, s := range [...]float64{step, -step} {
					q[i] = num.Clamp(was+s*max(was, searchDark)*2, lo[i], e.phi[i])
					if d := e.off(q, t); d < top-searchGain && !(e.lampY(q) < least) {
						top, was, moved = d, q[i], true
					} else {
						q[i] = was
					}
				}
			}
		}
	}
}

// golden finds a minimum of a function on [0, 1] that has one dip, to 1e-4.
func golden(f func(float64) float64) float64 {
	const r = math.Phi - 1
	a, b := 0.0, 1.0
	c, d := b-r*(b-a), a+r*(b-a)
	fc, fd := f(c), f(d)
	for b-a > goldenEnough {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - r*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + r*(b-a)
			fd = f(d)
		}
	}
	best := (a + b) / 2
	for _, s := range [...]float64{0, 1} {
		if f(s) < f(best) {
			best = s
		}
	}
	return best
}

// quantise puts p on the lattice of codes: by rounding on a fine one, else by
// trying floor and ceiling of every lit emitter at some levels.
func (e *mixture) quantise(p, now []float64, t colorcalc.UV) Plan {
	n := e.n
	out := Plan{Codes: make(model.Drive, len(e.s.Channels)), D: make([]float64, len(e.s.Channels))}
	for i := range e.s.Channels {
		out.D[i] = now[i]
		out.Codes[i] = e.s.Code(i, now[i])
	}
	var rounded [maxSplit]int
	split := rounded[:0]
	var light [model.MaxEmitters]float64
	q := light[:n]
	for i := range n {
		c := e.s.Channels[i]
		out.Codes[i] = e.s.Code(i, e.d(p[i]))
		if c.Max < fineLattice && p[i] > 0 && len(split) < maxSplit {
			split = append(split, i)
		}
		q[i] = e.p(e.s.Drive(i, out.Codes[i]))
	}
	uv := e.uvOf(q)
	out.Err = math.Hypot(uv.U-t.U, uv.V-t.V)
	if len(split) > 0 {
		e.lattice(&out, p, q, split, t)
	}
	for i := range e.s.Channels {
		out.D[i] = e.s.Drive(i, out.Codes[i])
	}
	return out
}

func (e *mixture) lattice(out *Plan, p, q []float64, split []int, t colorcalc.UV) {
	var base [model.MaxEmitters]float64
	copy(base[:], q)
	best := out.Err
	var code [maxSplit][2]uint32
	var light [maxSplit][2]float64
	for _, f := range latticeScales {
		if e.absY > 0 && math.Abs(f-1) > levelFree {
			continue
		}
		for k, i := range split {
			scale := e.s.Scale(i)
			place := scale.Place(e.d(min(f*p[i], e.phi[i])))
			lo, hi := e.s.Allowed(i, math.Floor(place)), e.s.Allowed(i, math.Ceil(place))
			if float64(lo) < scale.Place(e.least) {
				lo = hi
			}
			code[k] = [2]uint32{lo, hi}
			light[k] = [2]float64{e.p(e.s.Drive(i, lo)), e.p(e.s.Drive(i, hi))}
		}
		for bits := range 1 << len(split) {
			for k, i := range split {
				base[i] = light[k][bits>>k&1]
			}
			uv := e.uvOf(base[:len(q)])
			err := math.Hypot(uv.U-t.U, uv.V-t.V)
			if s := err + scalePenalty*math.Abs(math.Log(f))/penaltyStep; s < best {
				best = s
				out.Err = err
				for k, i := range split {
					out.Codes[i] = code[k][bits>>k&1]
				}
			}
		}
	}
}
