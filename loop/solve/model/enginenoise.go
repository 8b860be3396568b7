package model

import (
	"math"

	"trueup/loop/solve/num"
	"trueup/profiles/law"
)

// Elapse lets the offset and the scale walk.
func (m *Engine) Elapse(s *State, dt float64, _ []float64) {
	if !(dt > 0) {
		return
	}
	N := m.n + engineExtra
	q := offsetNoise * offsetNoise * dt
	s.P[(m.n+1)*N+m.n+1] += q
	s.P[(m.n+2)*N+m.n+2] += q
	s.P[m.n*N+m.n] += scaleNoise * scaleNoise
}

// MoveNoise grows with the way: what the law predicts or what the scales say,
// whichever is longer, for beyond a clamp the engine may do as it likes.
func (m *Engine) MoveNoise(s *State, from, to []float64) num.Cov2 {
	a, b := m.Colour(s.Law, s.X, from)
	c, d := m.Colour(s.Law, s.X, to)
	k := m.law.bend(m.pair(to))
	if s.Wide {
		k *= engineMoveWide
	}
	way := (a-c)*(a-c) + (b-d)*(b-d)
	a, b = m.Asked(from)
	c, d = m.Asked(to)
	q := k * k * max(way, (a-c)*(a-c)+(b-d)*(b-d))
	if m.dim0 >= 0 {
		q += dimShift(m.dimmer, from[m.dim0], to[m.dim0])
	}
	return num.Cov2{UU: q, VV: q}
}

// Move adds the noise of a move to the offset and to the scale.
func (m *Engine) Move(s *State, from, to []float64) {
	N := m.n + engineExtra
	q := m.MoveNoise(s, from, to)
	s.P[(m.n+1)*N+m.n+1] += q.UU
	s.P[(m.n+2)*N+m.n+2] += q.VV
	a, b := m.Colour(s.Law, s.X, from)
	c, d := m.Colour(s.Law, s.X, to)
	sd := engineLnY + engineLnYWay*min(math.Hypot(a-c, b-d), engineLnYMost)
	s.P[m.n*N+m.n] += sd * sd
}

// Rest lets the offset lean.
func (m *Engine) Rest(s *State, forgotten float64) {
	dim := m.Dim()
	for _, b := range [...]int{dim.B, dim.B + 1} {
		s.P[b*dim.N+b] += forgotten * restLean * restLean
	}
}

// OpenDimmer leaves the exponent of a dimmer without a stated curve to the readings.
func (m *Engine) OpenDimmer(s *State, d []float64) {
	openDimmer(m.dimmer, s, m.n+engineExtra, m.n+3, m.n, d, m.dim0)
}

// dimShift is the variance of u' and v' that moving a dimmer brings.
func dimShift(c law.Curve, from, to float64) float64 {
	k := dimLean * math.Log(max(c.Light(to), leastPart)/max(c.Light(from), leastPart))
	return k * k
}

// Prior lists the components of a fresh unit.
func (m *Engine) Prior() []Component {
	dim := m.Dim()
	N, b, g := dim.N, dim.B, dim.G
	blank := blanks(N, m.law.variants()+2)
	one := func(w float64, v int, wide bool, scale int) Component {
		k := 1.0
		if scale == 1 && !wide {
			k = tightScale
		}
		c := Component{State: blank(), Weight: w, Scale: scale}
		c.Law, c.Wide = v, wide
		copy(c.X, m.law.mean())
		for i, s := range m.law.sd(wide) {
			c.P[i*N+i] = k * s * s
		}
		c.P[g*N+g] = sdScale * sdScale
		c.P[b*N+b], c.P[(b+1)*N+b+1] = sdEngineOffset*sdEngineOffset, sdEngineOffset*sdEngineOffset
		c.P[(b+2)*N+b+2] = sdDim * sdDim
		return c
	}
	rest := 1 - wideWeight - float64(m.law.variants()-1)*variantWeight
	out := []Component{one(rest/2, 0, false, 0), one(rest/2, 0, false, 1), one(wideWeight, 0, true, 0)}
	for v := 1; v < m.law.variants(); v++ {
		out = append(out, one(variantWeight, v, false, 0))
	}
	return out
}
