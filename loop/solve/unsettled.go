package solve

import (
	"fmt"
	"math"
	"slices"
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
		if k := ratio95 * sigma / m.target.Tol; k*k > fairReadings {
			return m.tooNoisy(sigma) // and so it was never known well enough to stay
		}
		if uv, c := m.sum.Mean(m.stand.d); uv.Dist(m.target.UV) < m.target.Tol/2 && m.target.SigmaUV > c.SD() {
			m.fault.cause = MeterNoise
			return fmt.Sprintf("background and reference are known to +/- %s, which leaves too little of this tolerance", milli(2*m.target.SigmaUV))
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
	m.fault.cause = MeterNoise
	return fmt.Sprintf("the meter's scatter of %s needs more readings for this tolerance than are allowed", milli(sigma))
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

// fairReadings of one setting are no trouble.
const fairReadings = 8

// tooNoisy names the meter's scatter, and the tolerance that it would carry.
func (m *Match) tooNoisy(sigma float64) string {
	m.fault.cause = MeterNoise
	k := ratio95 * sigma / m.target.Tol
	return fmt.Sprintf("the meter's scatter of %s is too much for this tolerance: some %.0f readings would be needed; more light at the probe, a longer integration, or a tolerance of %s, for which %d would do",
		milli(sigma), k*k, milli(ratio95*sigma/math.Sqrt(fairReadings)), fairReadings)
}
