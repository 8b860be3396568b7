package solve

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// worthMoving is how much better a move must score than one more reading.
const worthMoving = 1.02

// Next decides. at is the time on the match's own clock. What is known does not
// change, only a reading does that; but a Move counts as made, and until a
// reading of it arrives Next asks Again.
func (m *Match) Next(at time.Duration) Decision {
	if d, ok := m.stopped(); ok {
		return d
	}
	if m.pending != nil { // it was sent there, and nothing came back yet
		d := m.decision(Again, m.inside(), "no reading came since the last step: ask once more")
		d.Drive = slices.Clone(m.pending)
		return d
	}
	lead := m.hyps[0]
	from := m.now
	if from == nil {
		from = m.start()
	}
	pl, _ := m.planFor(lead, from)
	m.lastPlan = pl
	if m.now == nil {
		return m.moveTo(pl, fmt.Sprintf("first drive, from the profile: predicted %s", milli(pl.err)))
	}
	p := m.inside()
	if p >= m.opt.Confidence && m.levelHolds() {
		return m.done(Landed, p, fmt.Sprintf("landed: within %s with %.1f %% confidence after %d readings", milli(m.target.Tol), 100*p, m.readings))
	}
	if m.readings >= m.opt.Budget {
		return m.spent(p)
	}
	if pl.err > 0.6*m.target.Tol {
		return m.atEdge(pl, p)
	}
	if p >= m.opt.Confidence { // the colour is right, the level is not
		return m.moveTo(pl, "the colour is right, the level is not yet")
	}
	if slices.Equal(pl.drive, m.drive) || m.way(lead, pl.d) < tinyStep*m.target.Tol {
		return m.again(p, "stands where the model would send it: one more reading to be sure")
	}
	stay := m.worth(m.now, false)
	move := m.worth(pl.d, true)
	if m.hitsHere() == 0 {
		stay = 0.9 * stay
	}
	if move*m.haste() > stay*worthMoving {
		return m.moveTo(pl, fmt.Sprintf("a step pays more than another reading (%.0f %% against %.0f %% to land on the next)", 100*move, 100*stay))
	}
	return m.again(p, fmt.Sprintf("one more reading here pays more than a step (%.0f %% against %.0f %%)", 100*stay, 100*move))
}

// tinyStep is the part of the tolerance below which a step is not worth making.
const tinyStep = 0.03

// way is how far a move to d is predicted to go, u'v'.
func (m *Match) way(h *hyp, d []float64) float64 {
	var a, b [3]float64
	m.m.predict(h.law, h.x, m.now, &a, nil)
	m.m.predict(h.law, h.x, d, &b, nil)
	return math.Hypot(a[0]-b[0], a[1]-b[1])
}

// haste scales the worth of a move by what it costs in time beside a reading:
// a move that lands now saves later ones, so only part of the cost counts.
func (m *Match) haste() float64 {
	s, c := m.opt.Sample.Seconds(), m.opt.Settle.Seconds()
	if !(c > 0) {
		return 1
	}
	return 1 - 0.1*c/(c+s)
}

// start is the drive that a match without any begins from.
func (m *Match) start() []float64 {
	if m.spec.Start != nil {
		return m.fractions(m.spec.Start)
	}
	d := make([]float64, len(m.spec.Channels))
	for i, c := range m.spec.Channels {
		d[i] = (float64(c.Lo) + float64(c.Hi)) / 2 / float64(c.Max)
	}
	if m.spec.Dimmer != nil {
		c := m.spec.Channels[m.spec.Dimmer.Channel]
		d[m.spec.Dimmer.Channel] = float64(c.Hi) / float64(c.Max)
	}
	return d
}

// planFor solves for the target as hypothesis h sees the head.
func (m *Match) planFor(h *hyp, from []float64) (plan, bool) {
	t := m.goal(h.x)
	if m.target.Y > 0 && m.scaled {
		switch e := m.plan.(type) {
		case *emitterSolver:
			e.absY = m.target.Y
		case *planeSolver:
			e.absY = m.target.Y
		}
	}
	return m.plan.solve(h.law, h.x, from, t, m.target.Tol, false)
}

// goal is the target with the local offset of a state taken off.
func (m *Match) goal(x []float64) colorcalc.UV {
	return colorcalc.UV{U: m.target.UV.U - x[m.f.b], V: m.target.UV.V - x[m.f.b+1]}
}

func (m *Match) hitsHere() float64 {
	w := 0.0
	for _, h := range m.hyps {
		if h.hits > 0 {
			w += h.w
		}
	}
	return w
}

// worth is the probability that the next reading at d ends the match, plus a
// little for being right there.
func (m *Match) worth(d []float64, moving bool) float64 {
	r := m.noiseHere()
	total := 0.0
	for _, h := range m.hyps {
		z, c := m.spread(h, d)
		if moving {
			q := m.m.doubt(h, m.now, d)
			c.uu += q.uu
			c.uv += q.uv
			c.vv += q.vv
		}
		du, dv := z[0]-m.target.UV.U, z[1]-m.target.UV.V
		after, gain := condition(c, r)
		rho := m.reach(after)
		total += h.w * (inCircle(du, dv, gain, rho) + 0.02*inCircle(du, dv, c, m.target.Tol))
	}
	return total
}

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
