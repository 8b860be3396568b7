package model

import (
	"math"

	"trueup/loop/solve/num"
)

// load is the warmth where drive d would settle: the mean response, weighted
// equally, so that all emitters at full give 1.
func (m *Mixture) load(law int, x, d []float64) float64 {
	nb := 3 * m.n
	s := 0.0
	for i := range m.n {
		p, _ := response(m.curves[law], d[i], x[nb+offKappa])
		s += p
	}
	if m.dim0 >= 0 {
		f, _ := dimmerLight(m.dimmer, d[m.dim0], x[nb+offDim])
		s *= f
	}
	return s / float64(m.n)
}

// Elapse warms the lamp towards what its drive settles at, and adds what warmth
// does not explain.
func (m *Mixture) Elapse(s *State, dt float64, d []float64) {
	if !(dt > 0) {
		return
	}
	nb, N := 3*m.n, 3*m.n+extraStates
	t := nb + offWarm
	a := math.Exp(-dt / m.tau)
	inf := m.load(s.Law, s.X, d)
	s.X[t] = inf + (s.X[t]-inf)*a
	for k := range N {
		if k != t {
			s.P[t*N+k] *= a
			s.P[k*N+t] *= a
		}
	}
	s.P[t*N+t] = s.P[t*N+t]*a*a + (1-a)*(1-a)*warmNoise*warmNoise
	// What the warmth does not say: rank one along the droop, and each alone.
	k := droopNoise * min(dt, m.tau) // a lamp does not warm for ever
	for i := range m.n {
		for j := range m.n {
			s.P[(3*i+2)*N+3*j+2] += k * k * m.droop[i] * m.droop[j]
		}
		s.P[(3*i+2)*N+3*i+2] += fluxNoise * fluxNoise * dt
	}
	s.P[(nb+offG)*N+nb+offG] += scaleNoise * scaleNoise
}

// MoveNoise is the offset that a move can bring: emitters differ from the common
// law each in its own way, so the noise grows with the light that changes hands
// and with how far each emitter moves on its curve. This is the damping.
func (m *Mixture) MoveNoise(s *State, from, to []float64) num.Cov2 {
	nb := 3 * m.n
	kappa := s.X[nb+offKappa]
	var w0, w1, dl [MaxEmitters]float64
	var s0, s1, u, v float64
	for i := range m.n {
		p0, _ := response(m.curves[s.Law], from[i], kappa)
		p1, _ := response(m.curves[s.Law], to[i], kappa)
		yi := math.Exp(s.X[3*i+2]) * 9 / s.X[3*i+1]
		w0[i], w1[i] = p0*yi, p1*yi
		s0 += w0[i]
		s1 += w1[i]
		u += w1[i] * s.X[3*i]
		v += w1[i] * s.X[3*i+1]
		dl[i] = math.Log(max(p1, leastPart) / max(p0, leastPart))
	}
	if !(s0 > 0) || !(s1 > 0) {
		return num.Cov2{UU: moveDark, VV: moveDark}
	}
	u, v = u/s1, v/s1
	D, own := 0.0, 0.0
	for i := range m.n {
		r := math.Hypot(s.X[3*i]-u, s.X[3*i+1]-v)
		w := w1[i] / s1
		D += math.Abs(w-w0[i]/s0) * r
		own += (moveLog * dl[i] * w * r) * (moveLog * dl[i] * w * r)
	}
	q := (moveShare*moveShare*D*D + own/2) / (1 + D/moveFull)
	if m.dim0 >= 0 {
		q += dimShift(m.dimmer, from[m.dim0], to[m.dim0])
	}
	if s.Wide {
		q *= moveWide * moveWide
	}
	return num.Cov2{UU: q, VV: q}
}

// Move adds the noise of a move to the offset and to the scale.
func (m *Mixture) Move(s *State, from, to []float64) {
	N := 3*m.n + extraStates
	b, g := 3*m.n+offB, 3*m.n+offG
	q := m.MoveNoise(s, from, to)
	s.P[b*N+b] += q.UU
	s.P[(b+1)*N+b+1] += q.VV
	var z0, z1 [3]float64
	m.Predict(s.Law, s.X, from, &z0, nil)
	m.Predict(s.Law, s.X, to, &z1, nil)
	sd := moveLnY + moveLnYStep*min(math.Abs(z1[2]-z0[2]), moveLnYMost)
	s.P[g*N+g] += sd * sd
}

// Rest is the warmth that a lamp left alone has lost or gained.
func (m *Mixture) Rest(s *State, forgotten float64) {
	t, N := 3*m.n+offWarm, 3*m.n+extraStates
	s.P[t*N+t] += forgotten * sdWarm * sdWarm
}

// OpenDimmer leaves the exponent of a dimmer without a stated curve to the readings.
func (m *Mixture) OpenDimmer(s *State, d []float64) {
	dim := m.Dim()
	openDimmer(m.dimmer, s, dim.N, 3*m.n+offDim, dim.G, d, m.dim0)
}

// Forgotten is how much of its warmth a lamp has forgotten after so many
// seconds: 0 at once, 1 in the end.
func Forgotten(seconds float64) float64 {
	a := math.Exp(-seconds / warmTau)
	return 1 - a*a
}
