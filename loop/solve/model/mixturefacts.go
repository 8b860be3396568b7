package model

import "math"

// LawName is the name of a response law.
func (m *Mixture) LawName(law int) string { return CurveName(m.curves[law]) }

// Exponent is the learnt ln of the multiplier of the response exponent.
func (m *Mixture) Exponent(s *State) (ln, sd float64, ok bool) {
	k, N := 3*m.n+offKappa, 3*m.n+extraStates
	return s.X[k], math.Sqrt(s.P[k*N+k]), true
}

// Changed is the emitter whose light a reading at d changed most.
func (m *Mixture) Changed(before, now *State, d []float64) (emitter int, ln float64, ok bool) {
	best := 0.0
	mean := 0.0 // the scale of all together is the meter's, not the lamp's
	for i := range m.n {
		mean += (now.X[3*i+2] - m.nominal(i)) / float64(m.n)
	}
	for i := range m.n {
		change := math.Abs(now.X[3*i+2] - before.X[3*i+2])
		if m.Light(now.Law, now.X, d[i]) < litPart {
			continue
		}
		if change > best && change > wordedFor {
			best, ok = change, true
			emitter, ln = i, now.X[3*i+2]-m.nominal(i)-mean
		}
	}
	return emitter, ln, ok
}
