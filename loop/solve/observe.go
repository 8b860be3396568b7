package solve

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Observe learns from a reading and says what it made of it. A reading without
// a drive counts for where the match last sent the head.
func (m *Match) Observe(r Reading) Account {
	m.log.count++
	if r.Drive == nil {
		r.Drive = m.stand.codes
		if m.stand.underWay {
			r.Drive = m.stand.pending
		}
	}
	var a Account
	if why := m.refuse(&r); why != "" {
		a.Verdict, a.Words, a.Cause = Refused, why, m.fault.cause
		a.P = m.inside()
		return a
	}
	wished := m.stand.underWay
	m.stand.underWay = false
	a.Error = r.UV.Dist(m.target.UV)
	var sent []float64
	if r.Drive, sent = m.kept(r.Drive); wished {
		m.wasCut(sent)
	}
	moved := m.stand.codes == nil || !slices.Equal(m.stand.codes, r.Drive)
	dimmed := moved && m.dimmed(r.Drive)
	if m.log.stale(&r) {
		m.arrive(r.Drive, sent)
		a.Verdict, a.Words = Stale, "the same digits as before the move: set aside as an old reading"
		a.P = m.inside()
		return a
	}
	d := m.lit(sent, r.UV)
	m.arrive(r.Drive, d)
	m.elapse(r.At, d)
	colour := m.learn(&a, &r, d)
	m.fault.asks = 0
	m.fault.worst = max(m.fault.worst, a.Mahalanobis)
	if moved {
		far := a.Mahalanobis
		if dimmed {
			far = colour
		}
		if m.fault.missed = len(m.log.taken) > 0 && far > misfit; m.fault.missed {
			m.fault.misfits++
		}
	}
	m.log.taken = append(m.log.taken, taken{r: r, sent: sent, d: d, verdict: a.Verdict, moved: moved, far: a.Mahalanobis})
	m.yield(d)
	m.diagnose()
	z, cov := m.sum.Mean(m.stand.d)
	a.Estimate, a.EstimateSD = z, cov.SD()
	a.P = m.inside()
	a.Cause = m.fault.cause
	a.Words = m.wordsOf(&a)
	return a
}

// kept is a drive in memory of its own, and its fractions; those of the last reading, if it was at the same.
func (m *Match) kept(d Drive) (Drive, []float64) {
	if n := len(m.log.taken); n > 0 && slices.Equal(m.log.taken[n-1].r.Drive, d) {
		return m.log.taken[n-1].r.Drive, m.log.taken[n-1].sent
	}
	return slices.Clone(d), m.fractions(d)
}

// learn puts a reading at drive d into the sum, and what was thought of it
// before into the account. It returns the squared Mahalanobis distance of the colour alone.
func (m *Match) learn(a *Account, r *Reading, d []float64) (colour float64) {
	o := m.obs(r)
	if o.Axes == 3 && !m.sum.LevelKnown {
		m.sum.GuessScale(d, o.Z[2])
	}
	lead := m.sum.Lead()
	e, level, mahalanobis := m.sum.Filter.Innovation(&lead.State, d, &o)
	a.Axes = o.Axes
	a.Innovation = colorcalc.UV{U: e[0], V: e[1]}
	a.Predicted = colorcalc.UV{U: o.Z[0] - e[0], V: o.Z[1] - e[1]}
	if o.Axes == 3 && m.sum.LevelKnown {
		a.InnovationLnY, a.LevelSD = e[2], level
	}
	a.Mahalanobis, colour = mahalanobis, mahalanobis
	if o.Axes == 3 {
		alone := o
		alone.Axes = 2
		_, _, colour = m.sum.Filter.Innovation(&lead.State, d, &alone)
	}
	m.before.Law, m.before.X = lead.Law, append(m.before.X[:0], lead.X...)

	accepted := m.sum.Observe(d, &o, m.log.agreeing(&o, d))
	if o.Axes == 3 && accepted > mostAccepted {
		m.sum.LevelKnown = true
	}
	if accepted < mostAccepted {
		a.Verdict = Outlier
	}
	return colour
}

// dimmed tells whether the master dimmer moves on the way to a drive: by how much its light changes then is told by a curve that
// the profile may not have, and says nothing of the mode.
func (m *Match) dimmed(to Drive) bool {
	if m.spec.Dimmer == nil || m.stand.codes == nil {
		return false
	}
	i := m.spec.Dimmer.Channel
	return to[i] != m.stand.codes[i]
}

// lit is the drive as the light shows it.
func (m *Match) lit(d []float64, read colorcalc.UV) []float64 {
	m.seen.match, m.seen.read = m, read
	return m.planner.Lit(d, &m.seen, darkNoise*m.opt.SigmaUV)
}

// seen is a reading that predictions are held against.
type seen struct {
	match *Match
	read  colorcalc.UV
}

// Off is how far from the reading a drive is predicted, u'v'.
func (s *seen) Off(d []float64) float64 {
	z := s.match.sum.Filter.Predict(&s.match.sum.Lead().State, d)
	return math.Hypot(z[0]-s.read.U, z[1]-s.read.V)
}

// yield gives way to the mean of several readings at the present drive.
func (m *Match) yield(d []float64) {
	var u, v, n float64
	for k := len(m.log.taken) - 1; k >= 0 && slices.Equal(m.log.taken[k].d, d); k-- {
		if m.log.taken[k].verdict == Accepted {
			u, v, n = u+m.log.taken[k].r.UV.U, v+m.log.taken[k].r.UV.V, n+1
		}
	}
	if n < yieldFrom {
		return
	}
	r := m.noise()
	m.sum.Yield(d, colorcalc.UV{U: u / n, V: v / n}, (r.UU+r.VV)/2/n, yieldOff)
}

// refuse names a reading that is no light.
func (m *Match) refuse(r *Reading) string {
	switch {
	case !model.Light(r.UV):
		return "set aside: the reading is not a possible colour"
	case len(r.Drive) != len(m.spec.Channels):
		return "set aside: the reading does not say at which drive it was taken"
	case r.HasY && (math.IsNaN(r.Y) || math.IsInf(r.Y, 0) || r.Y < 0):
		return "set aside: the level is not a number"
	case r.HasY && r.Y == 0:
		m.fault.cause = Dark
		return "set aside: no light reaches the meter"
	}
	return ""
}

// arrive takes in that the head now stands at a drive.
func (m *Match) arrive(codes Drive, d []float64) {
	if m.stand.codes != nil && slices.Equal(m.stand.codes, codes) {
		return
	}
	var p *estimate.Process
	if m.stand.d != nil {
		p = m.edge.trusted(m)
	}
	m.sum.Arrive(m.stand.d, d, p)
	m.stand.d, m.stand.codes = d, append(m.stand.codes[:0], codes...)
}

// begin starts the clock: what was before is the prior's.
func (m *Match) begin(at time.Duration) {
	if !m.clock.begun {
		m.clock = clock{true, at}
	}
}

// elapse lets the state walk up to the time of a reading; time going backwards
// counts as none.
func (m *Match) elapse(at time.Duration, d []float64) {
	m.begin(at)
	if dt := (at - m.clock.last).Seconds(); dt > 0 {
		m.clock.last = at
		m.sum.Elapse(dt, d)
	}
}

// obs carries a reading into u', v', ln Y with its noise: the meter's own and
// that of the last digit of its x and y (uniform over one step).
func (m *Match) obs(r *Reading) estimate.Obs {
	s := r.SigmaUV
	if !(s > 0 && s < mostSigmaUV) {
		s = m.opt.SigmaUV
	}
	s = max(s, leastSigma)
	s *= m.scatter()
	o := estimate.Obs{Z: [3]float64{r.UV.U, r.UV.V, 0}, R: num.Cov2{UU: s * s, VV: s * s}, Axes: 2}
	if q := r.RoundXY; q > 0 && q < mostRounding {
		u, v := r.UV.U, r.UV.V
		xy := r.UV.XY()
		d := -2*xy.X + 12*xy.Y + 3
		j00, j01 := (4+2*u)/d, -12*u/d
		j10, j11 := 2*v/d, (9-12*v)/d
		k := q * q / 12
		o.R.UU += k * (j00*j00 + j01*j01)
		o.R.UV += k * (j00*j10 + j01*j11)
		o.R.VV += k * (j10*j10 + j11*j11)
	}
	if r.HasY {
		o.Axes, o.Z[2] = 3, math.Log(r.Y)
		y := r.SigmaLnY
		if !(y > 0 && y < mostSigmaLn) {
			y = m.opt.SigmaLnY
		}
		y *= m.scatter()
		o.RY = y*y + leastLn*leastLn
	}
	return o
}
