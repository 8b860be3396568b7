package solve

import (
	"trueup/loop/solve/estimate"
	"trueup/loop/solve/num"
)

// The look-ahead: what one more reading would bring, here or elsewhere.

// inside is P(true error <= Tol) at the present drive: only components that
// accepted a reading here count, so a model alone never lands a lamp.
func (m *Match) inside() float64 {
	if m.stand.d == nil {
		return 0
	}
	p := 0.0
	for _, h := range m.sum.Components {
		if h.Hits > 0 {
			z, c := m.spread(h, m.stand.d)
			p += h.Weight * num.InCircle(z[0]-m.target.UV.U, z[1]-m.target.UV.V, c, m.target.Tol)
		}
	}
	return p
}

// spread is the predicted reading at d and the covariance of its true error
// from the target, the target's own uncertainty included.
func (m *Match) spread(h *estimate.Component, d []float64) ([3]float64, num.Cov2) {
	z, c := m.sum.Filter.Spread(&h.State, d)
	return z, m.fromTarget(c)
}

// fromTarget is the covariance of the error from the target, where c is that of the head's own light.
func (m *Match) fromTarget(c num.Cov2) num.Cov2 {
	t := m.target.SigmaUV * m.target.SigmaUV
	c.UU += t
	c.VV += t
	return c
}

// worth is the probability that the next reading at d ends the match, plus a
// little for being right there. The reading tells of the head alone: what is not known of the target, and what all readings have
// in common, is as large after it. Where that was thought to shrink too, a head that stood off by half the tolerance was read over and over.
func (m *Match) worth(d []float64, moving bool) float64 {
	r := m.noise()
	total := 0.0
	for _, h := range m.sum.Components {
		z, c := m.sum.Filter.Spread(&h.State, d)
		if moving {
			q := m.model.MoveNoise(&h.State, m.stand.d, d)
			c.UU += q.UU
			c.UV += q.UV
			c.VV += q.VV
		}
		du, dv := z[0]-m.target.UV.U, z[1]-m.target.UV.V
		after, walk := num.Condition(c, r)
		rho := m.reach(m.fromTarget(after))
		total += h.Weight * (num.InCircle(du, dv, walk, rho) + worthInside*num.InCircle(du, dv, m.fromTarget(c), m.target.Tol))
	}
	return total
}

// haste scales the worth of a move by what it costs in time beside a reading:
// a move that lands now saves later ones, so only part of the cost counts. Where all of it counted, slow lamps
// were read over and over where they stood, and landed there falsely.
func (m *Match) haste() float64 {
	s, c := m.opt.Sample.Seconds(), m.opt.Settle.Seconds()
	if !(c > 0) {
		return 1
	}
	return 1 - timeWeighs*c/(c+s)
}

// noise is the variance of a reading, as the last one had it.
func (m *Match) noise() num.Cov2 {
	if k := len(m.log.taken); k > 0 {
		return m.obs(&m.log.taken[k-1].r).R
	}
	s := m.opt.SigmaUV * m.opt.SigmaUV
	return num.Cov2{UU: s, VV: s}
}

// reach is how far from the target a mean with covariance c may lie and still
// pass the stop, along one direction between the axes of c: a compromise, up to
// 17 % too far where c is a needle and the mean lies along it.
func (m *Match) reach(c num.Cov2) float64 {
	hi, lo, _, _ := c.Eigen()
	flat := num.Cov2{UU: hi, VV: lo}
	if num.InCircle(0, 0, flat, m.target.Tol) < m.opt.Confidence {
		return 0
	}
	a, b := 0.0, m.target.Tol
	for range reachHalvings {
		mid := (a + b) / 2
		if num.InCircle(mid*reachAlongU, mid*reachAlongV, flat, m.target.Tol) >= m.opt.Confidence {
			a = mid
		} else {
			b = mid
		}
	}
	return a
}
