package solve

import "math"

// emitterModel is a head with one channel per emitter. The light is the sum of
// the emitters' tristimulus values and the background (Grassmann), each emitter
// scaled by its response to the drive.
//
// State, for N emitters: u'_i, v'_i, ln Y_i at 3i..3i+2 (warm and at full);
// then kappa (ln of a common multiplier of the response exponent), g (ln of
// meter per model), background X, Y, Z in model units, offset b (2), warmth t
// (0 = cold, 1 = warm at full), kd (kappa of the dimmer). A model unit is the
// nominal light of all emitters at full.
type emitterModel struct {
	n      int // emitters
	curves []Curve
	droop  []float64 // ln of light lost from cold to warm
	dim0   int       // channel of the dimmer, -1 = none
	dimmer Curve
	tau    float64 // seconds of the warming, nominal
}

const (
	offKappa = iota
	offG
	offAmb
	_
	_
	offB
	_
	offWarm
	offDim
	extraStates
)

func (m *emitterModel) dim() (n, b, g int) {
	return 3*m.n + extraStates, 3*m.n + offB, 3*m.n + offG
}

// response is the light fraction of drive d with the exponent multiplier
// exp(kappa), and d ln p / d kappa.
func response(c Curve, d, kappa float64) (p, dln float64) {
	f := c.light(d)
	if f <= 0 {
		return 0, 0
	}
	e := math.Exp(kappa) * math.Log(f)
	return math.Exp(e), e
}

// invResponse gives the drive for light fraction p.
func invResponse(c Curve, p, kappa float64) float64 {
	if p <= 0 {
		return 0
	}
	return c.drive(math.Exp(math.Log(p) / math.Exp(kappa)))
}

func (m *emitterModel) predict(law int, x, d []float64, z *[3]float64, jac []float64) {
	n, nb := m.n, 3*m.n
	kappa, warm := x[nb+offKappa], x[nb+offWarm]
	dim, ddim := 1.0, 0.0
	if m.dim0 >= 0 {
		dim, ddim = response(m.dimmer, d[m.dim0], x[nb+offDim])
	}
	X, Y, Z := x[nb+offAmb], x[nb+offAmb+1], x[nb+offAmb+2]
	var ds, ys, dl [maxEmitters]float64 // X+15Y+3Z and Y of each emitter
	for i := range n {
		p, dln := response(m.curves[law], d[i], kappa)
		u, v := x[3*i], x[3*i+1]
		yi := p * dim * math.Exp(x[3*i+2]-m.droop[i]*(warm-1))
		di := 9 * yi / v
		ds[i], ys[i], dl[i] = di, yi, dln
		X += u * di / 4
		Y += yi
		Z += (di - u*di/4 - 15*yi) / 3
	}
	D := X + 15*Y + 3*Z
	if !(D > 1e-9) || !(Y > 1e-9) {
		D, Y = math.Max(D, 1e-9), math.Max(Y, 1e-9)
	}
	u, v := 4*X/D, 9*Y/D
	z[0] = u + x[nb+offB]
	z[1] = v + x[nb+offB+1]
	z[2] = math.Log(Y) + x[nb+offG]
	if jac == nil {
		return
	}
	N := nb + extraStates
	clear(jac)
	j0, j1, j2 := jac[:N], jac[N:2*N], jac[2*N:3*N]
	for i := range n {
		w := ds[i] / D
		ui, vi := x[3*i], x[3*i+1]
		lu, lv, ly := w*(ui-u), w*(vi-v), ys[i]/Y
		j0[3*i] = w
		j0[3*i+1] = w * (u - ui) / vi
		j1[3*i+1] = w * v / vi
		j0[3*i+2], j1[3*i+2], j2[3*i+2] = lu, lv, ly
		j0[nb+offKappa] += dl[i] * lu
		j1[nb+offKappa] += dl[i] * lv
		j2[nb+offKappa] += dl[i] * ly
		j0[nb+offWarm] -= m.droop[i] * lu
		j1[nb+offWarm] -= m.droop[i] * lv
		j2[nb+offWarm] -= m.droop[i] * ly
		j0[nb+offDim] += ddim * lu
		j1[nb+offDim] += ddim * lv
		j2[nb+offDim] += ddim * ly
	}
	a := nb + offAmb
	j0[a], j1[a] = (4-u)/D, -v/D
	j0[a+1], j1[a+1], j2[a+1] = -15*u/D, (9-15*v)/D, 1/Y
	j0[a+2], j1[a+2] = -3*u/D, -3*v/D
	j0[nb+offB], j1[nb+offB+1], j2[nb+offG] = 1, 1, 1
}

// maxEmitters bounds the scratch space; twelve is more than any lamp has today.
const maxEmitters = 16

func (m *emitterModel) sane(x []float64) {
	nb := 3 * m.n
	for i := range m.n {
		x[3*i] = clamp(x[3*i], 0.001, 0.63)
		x[3*i+1] = clamp(x[3*i+1], 0.012, 0.60) // 1/v' explodes below
		x[3*i+2] = clamp(x[3*i+2], -12, 4)
	}
	x[nb+offKappa] = clamp(x[nb+offKappa], -0.7, 0.7)
	x[nb+offDim] = clamp(x[nb+offDim], -0.7, 0.7)
	for k := range 3 {
		x[nb+offAmb+k] = clamp(x[nb+offAmb+k], -0.01, 1)
	}
	x[nb+offWarm] = clamp(x[nb+offWarm], -0.3, 1.6)
}

func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }

// load is the warmth where drive d would settle: the mean response, weighted
// equally, so that all emitters at full give 1.
func (m *emitterModel) load(law int, x, d []float64) float64 {
	nb := 3 * m.n
	s := 0.0
	for i := range m.n {
		p, _ := response(m.curves[law], d[i], x[nb+offKappa])
		s += p
	}
	if m.dim0 >= 0 {
		f, _ := response(m.dimmer, d[m.dim0], x[nb+offDim])
		s *= f
	}
	return s / float64(m.n)
}

func (m *emitterModel) drift(h *hyp, dt float64, d []float64) {
	if !(dt > 0) {
		return
	}
	nb, N := 3*m.n, 3*m.n+extraStates
	t := nb + offWarm
	a := math.Exp(-dt / m.tau)
	inf := m.load(h.law, h.x, d)
	h.x[t] = inf + (h.x[t]-inf)*a
	for k := range N {
		if k != t {
			h.p[t*N+k] *= a
			h.p[k*N+t] *= a
		}
	}
	h.p[t*N+t] = h.p[t*N+t]*a*a + (1-a)*(1-a)*0.15*0.15
	// What the warmth does not say: rank one along the droop, and each alone.
	k := driftDroop * math.Min(dt, m.tau) // a lamp does not warm for ever
	for i := range m.n {
		for j := range m.n {
			h.p[(3*i+2)*N+3*j+2] += k * k * m.droop[i] * m.droop[j]
		}
		h.p[(3*i+2)*N+3*i+2] += driftLn * driftLn * dt
	}
	h.p[(nb+offG)*N+nb+offG] += driftG * driftG
}

// Process noise per second and per reading; see the package comment for where
// the figures come from.
const (
	driftDroop = 0.004
	driftLn    = 0.0003
	driftG     = 0.002
	moveShare  = 0.02  // of the light that changes hands, as u'v' offset
	moveLog    = 0.012 // per unit of ln p that an emitter moves
	moveFull   = 0.03  // u'v' of changed light from which on the doubt grows less: a law is bent by so much and no more
	wideMove   = 6     // the same, for a badly wrong profile
)

// doubt is the offset that a move can bring: emitters differ from the common
// law each in its own way, so the doubt grows with the light that changes hands
// and with how far each emitter moves on its curve. This is the damping.
func (m *emitterModel) doubt(h *hyp, from, to []float64) cov2 {
	nb := 3 * m.n
	kappa := h.x[nb+offKappa]
	var w0, w1, dl [maxEmitters]float64
	var s0, s1, u, v float64
	for i := range m.n {
		p0, _ := response(m.curves[h.law], from[i], kappa)
		p1, _ := response(m.curves[h.law], to[i], kappa)
		yi := math.Exp(h.x[3*i+2]) * 9 / h.x[3*i+1]
		w0[i], w1[i] = p0*yi, p1*yi
		s0 += w0[i]
		s1 += w1[i]
		u += w1[i] * h.x[3*i]
		v += w1[i] * h.x[3*i+1]
		dl[i] = math.Log(math.Max(p1, 1e-3) / math.Max(p0, 1e-3))
	}
	if !(s0 > 0) || !(s1 > 0) {
		return cov2{1e-4, 0, 1e-4}
	}
	u, v = u/s1, v/s1
	D, own := 0.0, 0.0
	for i := range m.n {
		r := math.Hypot(h.x[3*i]-u, h.x[3*i+1]-v)
		w := w1[i] / s1
		D += math.Abs(w-w0[i]/s0) * r
		own += (moveLog * dl[i] * w * r) * (moveLog * dl[i] * w * r)
	}
	q := (moveShare*moveShare*D*D + own/2) / (1 + D/moveFull)
	if m.dim0 >= 0 {
		q += dimShift(m.dimmer, from[m.dim0], to[m.dim0])
	}
	if h.wide {
		q *= wideMove * wideMove
	}
	return cov2{q, 0, q}
}

func (m *emitterModel) moved(h *hyp, from, to []float64) {
	N := 3*m.n + extraStates
	b, g := 3*m.n+offB, 3*m.n+offG
	q := m.doubt(h, from, to)
	h.p[b*N+b] += q.uu
	h.p[(b+1)*N+b+1] += q.vv
	var z0, z1 [3]float64
	m.predict(h.law, h.x, from, &z0, nil)
	m.predict(h.law, h.x, to, &z1, nil)
	s := 0.01 + 0.05*math.Min(math.Abs(z1[2]-z0[2]), 1)
	h.p[g*N+g] += s * s
}
