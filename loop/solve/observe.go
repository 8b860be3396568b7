package solve

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// Weights of the branches of a reading, as shares of all readings.
const (
	outlierShare   = 0.015
	outlierDensity = 100  // per unit u'v' area
	outlierLn      = 0.8  // per unit ln Y
	outlierLnFirst = 0.13 // the same while the scale is unknown
	breakShare     = 1e-4
	breakUV        = 0.02 // sd of the offset that a broken model gets
	breakFar       = 0.1  // the same when the meter insists
	breakLn        = 0.5
	breakBelow     = 3.0 // ln of evidence over that of an outlier, below which a break is thought of
	agreement      = 9.0 // ln of how much less likely an outlier is to repeat itself
	pruneBelow     = 1e-4
	keepHyps       = 8
)

// Observe learns from a reading and says what it made of it. A reading without
// a drive counts for where the match last sent the head.
func (m *Match) Observe(r Reading) Account {
	m.readings++
	if r.Drive == nil {
		r.Drive = m.drive
		if m.pending != nil {
			r.Drive = m.pending
		}
	}
	var a Account
	if why := m.refuse(&r); why != "" {
		a.Verdict, a.Words, a.Cause = Refused, why, m.cause
		a.P = m.inside()
		return a
	}
	m.pending = nil
	d := m.fractions(r.Drive)
	moved := m.drive == nil || !slices.Equal(m.drive, r.Drive)
	a.Error = r.UV.Dist(m.target.UV)
	if s := m.stale; s != nil && !slices.Equal(s.Drive, r.Drive) && s.UV == r.UV && s.Y == r.Y {
		m.arrive(r.Drive, d)
		a.Verdict, a.Words = Stale, "the same digits as before the move: set aside as an old reading"
		a.P = m.inside()
		return a
	}
	c := r
	c.Drive = slices.Clone(r.Drive)
	m.stale = &c
	m.arrive(r.Drive, d)
	m.elapse(r.At, d)

	o := m.obs(&r)
	if o.axes == 3 && !m.scaled {
		m.guessScale(d, o.z[2])
	}
	lead := m.hyps[0]
	var s [9]float64
	var e [3]float64
	m.f.innovation(lead, d, &o, &s, &e)
	a.Axes = o.axes
	a.Innovation = colorcalc.UV{U: e[0], V: e[1]}
	a.Predicted = colorcalc.UV{U: o.z[0] - e[0], V: o.z[1] - e[1]}
	if o.axes == 3 && m.scaled {
		a.InnovationLnY = e[2]
	}
	_, a.Mahalanobis = logLik(&s, &e, o.axes)
	before := lead.clone()

	good := m.branch(d, &o)
	if o.axes == 3 && good > 0.5 {
		m.scaled = true
	}
	if good < 0.5 {
		a.Verdict = Outlier
	}
	m.asks = 0
	m.worstMaha = math.Max(m.worstMaha, a.Mahalanobis)
	if moved && len(m.taken) > 0 && a.Mahalanobis > misfit {
		m.misfits++
	}
	m.taken = append(m.taken, taken{r: c, d: d, verdict: a.Verdict, moved: moved})
	m.suspect()
	z, cov := m.estimate()
	a.Estimate, a.EstimateSD = z, cov.sd()
	a.P = m.inside()
	a.Cause = m.cause
	a.Words = m.wordsOf(&a, before)
	return a
}

// refuse names a reading that is no light.
func (m *Match) refuse(r *Reading) string {
	switch {
	case !(r.UV.U > 0 && r.UV.V > 0 && r.UV.U < 0.7 && r.UV.V < 0.65):
		return "set aside: the reading is not a possible colour"
	case len(r.Drive) != len(m.spec.Channels):
		return "set aside: the reading does not say at which drive it was taken"
	case r.HasY && (math.IsNaN(r.Y) || math.IsInf(r.Y, 0) || r.Y < 0):
		return "set aside: the level is not a number"
	case r.HasY && r.Y == 0:
		m.cause = Dark
		return "set aside: no light reaches the meter"
	}
	return ""
}

// fractions are codes as parts of full scale.
func (m *Match) fractions(d Drive) []float64 {
	f := make([]float64, len(d))
	for i, c := range d {
		f[i] = math.Min(float64(c)/float64(m.spec.Channels[i].Max), 1)
	}
	return f
}

// arrive takes in that the head now stands at a drive.
func (m *Match) arrive(drive Drive, d []float64) {
	if m.drive != nil && slices.Equal(m.drive, drive) {
		return
	}
	for _, h := range m.hyps {
		if m.now != nil {
			m.m.moved(h, m.now, d)
		}
		h.hits = 0
		h.settle()
	}
	m.now, m.drive = d, slices.Clone(drive)
}

// elapse lets the state drift up to the time of a reading; time going backwards
// counts as none.
func (m *Match) elapse(at time.Duration, d []float64) {
	dt := (at - m.last).Seconds()
	if dt <= 0 {
		return
	}
	m.last = at
	for _, h := range m.hyps {
		m.m.drift(h, math.Min(dt, 3600), d)
		if h.at.n == 0 {
			h.settle()
			continue
		}
		before := hyp{law: h.law, wide: h.wide, x: h.at.x, p: h.at.p}
		m.m.drift(&before, math.Min(dt, 3600), d)
	}
}

// No meter is better than this, whatever it says: u'v' and ln Y.
const (
	leastSigma = 2e-5
	leastLn    = 1e-3
)

// obs carries a reading into u', v', ln Y with its noise: the meter's own and
// that of the last digit of its x and y (uniform over one step).
func (m *Match) obs(r *Reading) obs {
	s := r.SigmaUV
	if !(s > 0 && s < 0.1) {
		s = m.opt.SigmaUV
	}
	s = math.Max(s, leastSigma)
	o := obs{z: [3]float64{r.UV.U, r.UV.V, 0}, r: cov2{s * s, 0, s * s}, axes: 2}
	if q := r.RoundXY; q > 0 && q < 0.01 {
		u, v := r.UV.U, r.UV.V
		xy := r.UV.XY()
		d := -2*xy.X + 12*xy.Y + 3
		j00, j01 := (4+2*u)/d, -12*u/d
		j10, j11 := 2*v/d, (9-12*v)/d
		k := q * q / 12
		o.r.uu += k * (j00*j00 + j01*j01)
		o.r.uv += k * (j00*j10 + j01*j11)
		o.r.vv += k * (j10*j10 + j11*j11)
	}
	if r.HasY {
		o.axes, o.z[2] = 3, math.Log(r.Y)
		y := r.SigmaLnY
		if !(y > 0 && y < 2) {
			y = m.opt.SigmaLnY
		}
		o.rY = y*y + leastLn*leastLn
	}
	return o
}

// guessScale puts the scale between model and meter where the first level has
// it; its variance stays that of not knowing.
func (m *Match) guessScale(d []float64, lnY float64) {
	var z [3]float64
	g := m.f.g
	m.m.predict(m.hyps[0].law, m.hyps[0].x, d, &z, nil)
	at := m.hyps[0].x[g] + lnY - z[2]
	for _, h := range m.hyps {
		h.x[g] = at
		h.settle()
	}
}

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
