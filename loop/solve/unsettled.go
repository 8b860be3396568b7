package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/profiles/printable"
)

// unsettledBy says which of lamp and meter would not hold still, from repeats
// at the last drive.
func (m *Match) unsettledBy() string {
	var t, u, v []float64
	for k := len(m.log.taken) - 1; k >= 0 && slices.Equal(m.log.taken[k].r.Drive, m.stand.codes); k-- {
		r := &m.log.taken[k].r
		t, u, v = append(t, r.At.Seconds()), append(u, r.UV.U), append(v, r.UV.V)
	}
	n := float64(len(t))
	noise := m.noise()
	sigma := math.Sqrt((noise.UU + noise.VV) / 2)
	if m.scatter() > 1 {
		m.fault.cause = MeterNoise
		return fmt.Sprintf("readings of it scatter by %s, %.0f times what the meter's do: its light is unsteady, or it is dimmed by pulses and the meter's window holds no whole number of them: a longer integration helps then",
			milli(sigma), m.scatter())
	}
	if k := ratio95 * sigma / m.target.Tol; k*k > float64(m.opt.Budget)/2 {
		return m.tooNoisy(sigma)
	}
	if n < driftFrom {
		if m.fault.why != "" {
			return m.fault.why
		}
		if k := ratio95 * sigma / m.target.Tol; k*k > FairReadings {
			return m.tooNoisy(sigma) // and so it was never known well enough to stay
		}
		if m.commonDecides() {
			return m.commonWords()
		}
		if m.standsWithin(m.target.Tol) && m.pointTakes() > fewReadings {
			return m.tooManyReadings(sigma)
		}
		return "it never stayed at one setting long enough: the light does not follow the profile"
	}
	su, ru := slope(t, u)
	sv, rv := slope(t, v)
	scatter := math.Sqrt((ru*ru + rv*rv) / 2)
	span := math.Abs(t[0] - t[len(t)-1])
	if rate := math.Hypot(su, sv); rate*span > driftNoise*scatter/math.Sqrt(n)+driftMeter*sigma {
		m.fault.cause = LampDrift
		return fmt.Sprintf("the light drifts by %s a minute: let it warm up", milli(60*rate))
	}
	if scatter > scatterMore*sigma {
		m.fault.cause = MeterNoise
		return fmt.Sprintf("readings of one setting scatter by %s, more than the %s of the meter: steady the meter or the light", milli(scatter), milli(sigma))
	}
	if m.commonDecides() {
		return m.commonWords()
	}
	return m.tooManyReadings(sigma)
}

// commonDecides tells whether what all readings have in common is what leaves it open.
func (m *Match) commonDecides() bool {
	return m.commonWeighs() || m.standsWithin(m.target.Tol) && m.commonTakesMost()
}

// tooManyReadings names the meter's scatter, where it is too much for the readings that there were, and not for the tolerance.
func (m *Match) tooManyReadings(sigma float64) string {
	m.fault.cause = MeterNoise
	return fmt.Sprintf("the meter's scatter of %s needs more readings for this tolerance than are allowed", milli(sigma))
}

// standsWithin tells whether the head stands within a distance of the target, as far as it is known.
func (m *Match) standsWithin(distance float64) bool {
	uv, _ := m.sum.Mean(m.stand.d)
	return uv.Dist(m.target.UV) < distance
}

// commonWeighs tells whether it stands well inside, and what all readings have in common weighs more than what is not known of the head.
func (m *Match) commonWeighs() bool {
	_, c := m.sum.Mean(m.stand.d)
	return m.standsWithin(m.target.Tol/2) && m.target.SigmaUV > c.SD()
}

// commonTakesMost tells whether what all readings have in common leaves them less than half of the tolerance's variance.
func (m *Match) commonTakesMost() bool {
	k := m.target.Tol / ratio95
	return m.target.SigmaUV*m.target.SigmaUV > k*k/2
}

// pointTakes is how many readings of one setting carry the tolerance beside what all of them have in common; infinite where none do.
func (m *Match) pointTakes() float64 {
	k, noise := m.target.Tol/ratio95, m.noise()
	left := k*k - m.target.SigmaUV*m.target.SigmaUV
	if !(left > 0) {
		return math.Inf(1)
	}
	return (noise.UU + noise.VV) / 2 / left
}

// commonWords name what all readings have in common as the cause, and the tolerance that it would carry.
func (m *Match) commonWords() string {
	m.fault.cause = MeterNoise
	noise := m.noise()
	would := ratio95 * math.Sqrt(m.target.SigmaUV*m.target.SigmaUV+(noise.UU+noise.VV)/2/FairReadings)
	would = max(math.Ceil(would*1e4)/1e4, m.target.Tol+1e-4) // as it is shown
	return fmt.Sprintf("background and reference are known to +/- %s, which leaves too little of this tolerance: one of %s would do", milli(2*m.target.SigmaUV), milli(would))
}

// InVain ends a match whose head stands well inside, as far as that is known, where what all readings have in common (Common) leaves so little of the
// tolerance that no more of them land it than it may take still. ok is false where they may.
func (m *Match) InVain() (d Decision, ok bool) {
	if m.stand.d == nil || m.stand.underWay || !m.commonWeighs() || m.pointTakes() <= float64(m.opt.Budget-m.log.count) {
		return d, false
	}
	p := m.inside()
	if p >= m.opt.Confidence {
		return d, false
	}
	uv, c := m.sum.Mean(m.stand.d)
	return m.done(Unsettled, p, fmt.Sprintf("unsettled: after %s %s off, +/- %s; %s", printable.Count(m.log.count, "reading"), milli(uv.Dist(m.target.UV)), milli(2*c.SD()), m.commonWords())), true
}

// slope fits a line and returns its slope and the standard deviation about it.
func slope(t, y []float64) (a, sd float64) {
	n := float64(len(t))
	var mt, my, tt, ty float64
	for i := range t {
		mt += t[i] / n
		my += y[i] / n
	}
	for i := range t {
		tt += (t[i] - mt) * (t[i] - mt)
		ty += (t[i] - mt) * (y[i] - my)
	}
	if tt > 0 {
		a = ty / tt
	}
	for i := range t {
		e := y[i] - my - a*(t[i]-mt)
		sd += e * e
	}
	return a, math.Sqrt(sd / max(n-2, 1))
}

// FairReadings of one setting are no trouble.
const FairReadings = 8

// Where a point takes no more than fewReadings, a head that stayed about it would have landed.
const fewReadings = 2

// tooNoisy names the meter's scatter, and the tolerance that it would carry.
func (m *Match) tooNoisy(sigma float64) string {
	m.fault.cause = MeterNoise
	k := ratio95 * sigma / m.target.Tol
	return fmt.Sprintf("the meter's scatter of %s is too much for this tolerance: some %.0f readings would be needed; more light at the probe, a longer integration, or a tolerance of %s, for which %d would do",
		milli(sigma), k*k, milli(ratio95*sigma/math.Sqrt(FairReadings)), FairReadings)
}
