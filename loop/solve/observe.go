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
	d = m.lit(d, r.UV)
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
	if moved {
		if m.missed = len(m.taken) > 0 && a.Mahalanobis > misfit; m.missed {
			m.misfits++
		}
	}
	m.taken = append(m.taken, taken{r: c, d: d, verdict: a.Verdict, moved: moved})
	m.heed(d)
	m.suspect()
	z, cov := m.estimate()
	a.Estimate, a.EstimateSD = z, cov.sd()
	a.P = m.inside()
	a.Cause = m.cause
	a.Words = m.wordsOf(&a, before)
	return a
}

// lit is the drive as the light shows it: an emitter below lastDrive whose light
// is missing counts as dark, and no emitter is sent there again.
func (m *Match) lit(d []float64, read colorcalc.UV) []float64 {
	e, ok := m.plan.(*emitterSolver)
	if !ok {
		return d
	}
	h := m.hyps[0]
	off := func(d []float64) float64 {
		var z [3]float64
		m.m.predict(h.law, h.x, d, &z, nil)
		return math.Hypot(z[0]-read.U, z[1]-read.V)
	}
	for i := range e.m.n {
		if !(d[i] > 0 && d[i] < lastDrive) || d[i]*float64(e.s.Channels[i].Max) < float64(e.s.Channels[i].Lo)+0.5 {
			continue
		}
		dark := slices.Clone(d)
		dark[i] = 0
		if a, b := off(d), off(dark); 3*b < a && a > 6*m.opt.SigmaUV {
			d, e.shallow = dark, true
		}
	}
	return d
}

// Figures of heeding the readings.
const (
	heedFrom = 4   // accepted readings at one drive
	heedOff  = 5.0 // standard deviations of their mean
)

// heed gives way where the estimate and the mean of several readings at the
// present drive do not agree: a state at its bounds can not follow the light, and
// what was read counts for more than any law. The rest goes into the local offset.
func (m *Match) heed(d []float64) {
	var u, v, n float64
	for k := len(m.taken) - 1; k >= 0 && slices.Equal(m.taken[k].d, d); k-- {
		if m.taken[k].verdict == Accepted {
			u, v, n = u+m.taken[k].r.UV.U, v+m.taken[k].r.UV.V, n+1
		}
	}
	if n < heedFrom {
		return
	}
	u, v = u/n, v/n
	r := m.noiseHere()
	s2 := (r.uu + r.vv) / 2 / n
	b, N := m.f.b, m.f.n
	for _, h := range m.hyps {
		z, _ := m.f.spread(h, d)
		if math.Hypot(u-z[0], v-z[1]) < heedOff*math.Sqrt(s2) {
			continue
		}
		h.x[b] += u - z[0]
		h.x[b+1] += v - z[1]
		for _, i := range [...]int{b, b + 1} {
			h.p[i*N+i] += s2
		}
		h.settle()
	}
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
	var mem *memory
	if m.now != nil && m.remembers() {
		mem = m.recall()
	}
	for _, h := range m.hyps {
		if m.now != nil {
			m.m.moved(h, m.now, d)
		}
		if mem != nil {
			m.restore(h, mem, d)
		}
		h.hits = 0
		h.settle()
	}
	m.now, m.drive = d, slices.Clone(drive)
}

// begin starts the clock: what was before is the prior's.
func (m *Match) begin(at time.Duration) {
	if !m.begun {
		m.begun, m.last = true, at
	}
}

// elapse lets the state drift up to the time of a reading; time going backwards
// counts as none.
func (m *Match) elapse(at time.Duration, d []float64) {
	m.begin(at)
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
