package solve

import (
	"math"
	"slices"

	"trueup/colorcalc"
)

// noiseHere is the variance of a reading, as the last one had it.
func (m *Match) noiseHere() cov2 {
	if k := len(m.taken); k > 0 {
		o := m.obs(&m.taken[k-1].r)
		return o.r
	}
	s := m.opt.SigmaUV * m.opt.SigmaUV
	return cov2{s, 0, s}
}

// condition is what one more reading with noise r does to covariance c: what is
// left, and how far the mean may walk.
func condition(c, r cov2) (after, gain cov2) {
	s := cov2{c.uu + r.uu, c.uv + r.uv, c.vv + r.vv}
	det := s.uu*s.vv - s.uv*s.uv
	if !(det > 0) {
		return c, cov2{}
	}
	// gain = C S^-1 C
	a := (s.vv*c.uu - s.uv*c.uv) / det
	b := (s.uu*c.uv - s.uv*c.uu) / det
	e := (s.vv*c.uv - s.uv*c.vv) / det
	f := (s.uu*c.vv - s.uv*c.uv) / det
	gain = cov2{c.uu*a + c.uv*b, c.uu*e + c.uv*f, c.uv*e + c.vv*f}
	after = cov2{c.uu - gain.uu, c.uv - gain.uv, c.vv - gain.vv}
	return after, gain
}

// reach is how far from the target a mean with covariance c may lie and still
// pass the stop, along the worse axis.
func (m *Match) reach(c cov2) float64 {
	hi, lo, _, _ := c.eigen()
	flat := cov2{hi, 0, lo}
	if inCircle(0, 0, flat, m.target.Tol) < m.opt.Confidence {
		return 0
	}
	a, b := 0.0, m.target.Tol
	for range 12 {
		mid := (a + b) / 2
		if inCircle(mid*0.8, mid*0.6, flat, m.target.Tol) >= m.opt.Confidence {
			a = mid
		} else {
			b = mid
		}
	}
	return a
}

// levelHolds reports whether an asked level is met (always, if none is asked or
// the scale is not known).
func (m *Match) levelHolds() bool {
	if m.target.Y <= 0 || !m.scaled {
		return true
	}
	var z [3]float64
	m.m.predict(m.hyps[0].law, m.hyps[0].x, m.now, &z, nil)
	return math.Abs(z[2]-math.Log(m.target.Y)) <= m.target.TolY || m.lastPlan.drive != nil && slices.Equal(m.lastPlan.drive, m.drive)
}

func (m *Match) decision(a Action, p float64, why string) Decision {
	d := Decision{Action: a, Drive: slices.Clone(m.drive), P: p, Reason: why, Cause: m.cause}
	if m.now != nil {
		uv, c := m.estimate()
		d.Predicted, d.PredictedSD = uv, c.sd()
		d.Nearest, d.Distance = uv, uv.Dist(m.target.UV)
		d.PredictedY = m.levelAt(m.hyps[0], m.now)
	}
	return d
}

func (m *Match) levelAt(h *hyp, d []float64) float64 {
	if !m.scaled {
		return 0
	}
	var z [3]float64
	m.m.predict(h.law, h.x, d, &z, nil)
	return math.Exp(z[2])
}

func (m *Match) again(p float64, why string) Decision { return m.decision(Again, p, why) }

func (m *Match) moveTo(pl plan, why string) Decision {
	h := m.hyps[0]
	z, c := m.f.spread(h, pl.d)
	if m.now != nil {
		q := m.m.doubt(h, m.now, pl.d)
		c.uu += q.uu
		c.vv += q.vv
	}
	uv := colorcalc.UV{U: z[0], V: z[1]}
	m.pending = slices.Clone(pl.drive)
	return Decision{Action: Move, Drive: slices.Clone(pl.drive), P: m.inside(), Reason: why, Cause: m.cause,
		Predicted: uv, PredictedSD: c.sd(), PredictedY: m.levelAt(h, pl.d), Nearest: uv, Distance: uv.Dist(m.target.UV)}
}

func (m *Match) done(o Outcome, p float64, why string) Decision {
	d := m.decision(Done, p, why)
	d.Outcome = o
	return d
}
