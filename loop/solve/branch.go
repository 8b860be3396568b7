package solve

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// branch lets every hypothesis take the reading as good, as an outlier, or as
// the sign that it is broken (Alspach and Sorenson 1972: Gaussian sums). It
// returns the weight of the branches that took it.
func (m *Match) branch(d []float64, o *obs) (good float64) {
	out := outlierLevel(o)
	if o.axes == 3 && !m.scaled {
		out += math.Log(outlierLnFirst / outlierLn)
	}
	again := m.repeats(o, d)
	out -= agreement * float64(again)
	far := breakUV
	if again > 0 {
		far = breakFar
	}
	type child struct {
		h    *hyp
		took bool
	}
	var kids []child
	var logw []float64
	n, b, g := m.f.n, m.f.b, m.f.g
	for _, h := range m.hyps {
		lw := math.Log(h.w)
		kids, logw = append(kids, child{h, false}), append(logw, lw+out)
		c := m.copyOf(h)
		ll, ok := m.f.observe(c, d, o)
		if ok {
			c.hits++
			kids, logw = append(kids, child{c, true}), append(logw, lw+math.Log(1-outlierShare-breakShare)+ll)
		} else {
			m.pool = append(m.pool, c)
		}
		if !ok || ll < out+breakBelow {
			c := m.copyOf(h)
			c.p[b*n+b] += far * far
			c.p[(b+1)*n+b+1] += far * far
			c.p[g*n+g] += breakLn * breakLn
			c.settle()
			if ll, ok := m.f.observe(c, d, o); ok {
				c.hits++
				kids, logw = append(kids, child{c, true}), append(logw, lw+math.Log(breakShare)+ll)
			}
		}
	}
	top := slices.Max(logw)
	sum := 0.0
	for i, k := range kids {
		k.h.w = math.Exp(logw[i] - top)
		sum += k.h.w
	}
	slices.SortStableFunc(kids, func(a, b child) int {
		switch {
		case a.h.w > b.h.w:
			return -1
		case a.h.w < b.h.w:
			return 1
		}
		return 0
	})
	m.hyps = m.hyps[:0]
	kept := 0.0
	for i, k := range kids {
		if i > 0 && (i >= keepHyps || k.h.w < pruneBelow*sum) {
			m.pool = append(m.pool, k.h)
			continue
		}
		kept += k.h.w
		m.hyps = append(m.hyps, k.h)
		if k.took {
			good += k.h.w
		}
	}
	for _, h := range m.hyps {
		h.w /= kept
	}
	m.evidence += top + math.Log(sum)
	return good / kept
}

// repeats counts the readings at the same drive that agree with this one:
// outliers do not repeat themselves.
func (m *Match) repeats(o *obs, d []float64) (n int) {
	for k := len(m.taken) - 1; k >= 0 && slices.Equal(m.taken[k].d, d); k-- {
		du, dv := m.taken[k].r.UV.U-o.z[0], m.taken[k].r.UV.V-o.z[1]
		if du*du+dv*dv < 25*(o.r.uu+o.r.vv) {
			n++
		}
	}
	return min(n, 5)
}

// outlierLevel is ln of the evidence of "this reading is an outlier".
func outlierLevel(o *obs) float64 {
	out := math.Log(outlierShare * outlierDensity)
	if o.axes == 3 {
		out += math.Log(outlierLn)
	}
	return out
}

// copyOf clones a hypothesis into one that is no longer used, if there is one.
func (m *Match) copyOf(h *hyp) *hyp {
	k := len(m.pool)
	if k == 0 {
		return h.clone()
	}
	c := m.pool[k-1]
	m.pool = m.pool[:k-1]
	x, p, sx, sp := c.x, c.p, c.at.x, c.at.p
	*c = *h
	c.x, c.p = append(x[:0], h.x...), append(p[:0], h.p...)
	c.at.x, c.at.p = append(sx[:0], h.at.x...), append(sp[:0], h.at.p...)
	return c
}

// inside is P(true error <= Tol) at the present drive: only hypotheses that
// accepted a reading here count, so a model alone never lands a lamp.
func (m *Match) inside() float64 {
	if m.now == nil {
		return 0
	}
	p := 0.0
	for _, h := range m.hyps {
		if h.hits > 0 {
			z, c := m.spread(h, m.now)
			p += h.w * inCircle(z[0]-m.target.UV.U, z[1]-m.target.UV.V, c, m.target.Tol)
		}
	}
	return p
}

// spread is the predicted reading at d and the covariance of its true error
// from the target, the target's own doubt included.
func (m *Match) spread(h *hyp, d []float64) ([3]float64, cov2) {
	z, c := m.f.spread(h, d)
	t := m.target.SigmaUV * m.target.SigmaUV
	c.uu += t
	c.vv += t
	return z, c
}

// estimate is the mean and covariance of the sum at the present drive.
func (m *Match) estimate() (colorcalc.UV, cov2) {
	var uv colorcalc.UV
	var c cov2
	var zs [keepHyps][3]float64
	for i, h := range m.hyps {
		z, k := m.f.spread(h, m.now)
		zs[i] = z
		uv.U += h.w * z[0]
		uv.V += h.w * z[1]
		c.uu += h.w * k.uu
		c.uv += h.w * k.uv
		c.vv += h.w * k.vv
	}
	for i, h := range m.hyps {
		a, b := zs[i][0]-uv.U, zs[i][1]-uv.V
		c.uu += h.w * a * a
		c.uv += h.w * a * b
		c.vv += h.w * b * b
	}
	return uv, c
}
