package solve

import "math"

// hyp is one Gaussian of the sum: a law of response, a state and its
// covariance. x has n values, p is n x n row by row.
type hyp struct {
	w     float64
	law   int
	wide  bool
	scale int
	hits  int // readings accepted at the present drive
	x, p  []float64
	at    station
}

// station is what a hypothesis has read at the present drive, and what it knew
// before: further readings there are taken as one mean from that knowledge, so
// that all of them share one linearisation. Taking them one by one lets the
// state creep along directions that this drive can not tell apart.
type station struct {
	x, p []float64
	z    [3]float64 // sum of the readings
	r    cov2       // sum of their covariances
	rY   float64
	n    int
}

func (h *hyp) clone() *hyp {
	c := *h
	c.x = append([]float64(nil), h.x...)
	c.p = append([]float64(nil), h.p...)
	c.at.x = append([]float64(nil), h.at.x...)
	c.at.p = append([]float64(nil), h.at.p...)
	return &c
}

// settle makes what is known now the knowledge before the readings at a drive.
func (h *hyp) settle() {
	h.at.x = append(h.at.x[:0], h.x...)
	h.at.p = append(h.at.p[:0], h.p...)
	h.at.z, h.at.r, h.at.rY, h.at.n = [3]float64{}, cov2{}, 0, 0
}

// take adds a reading to those at the present drive and gives their mean.
func (h *hyp) take(o *obs) obs {
	a := &h.at
	for k := range o.axes {
		a.z[k] += o.z[k]
	}
	a.r.uu += o.r.uu
	a.r.uv += o.r.uv
	a.r.vv += o.r.vv
	a.rY += o.rY
	a.n++
	n := float64(a.n)
	return obs{z: [3]float64{a.z[0] / n, a.z[1] / n, a.z[2] / n}, axes: o.axes,
		r: cov2{a.r.uu / (n * n), a.r.uv / (n * n), a.r.vv / (n * n)}, rY: a.rY / (n * n)}
}

// observe is update, with further readings at a drive taken as one mean.
func (f *filter) observe(h *hyp, d []float64, o *obs) (ll float64, ok bool) {
	ll, ok = f.update(h, d, o)
	mean := h.take(o)
	if !ok || h.at.n < 2 {
		return ll, ok
	}
	copy(h.x, h.at.x)
	copy(h.p, h.at.p)
	_, ok = f.update(h, d, &mean)
	return ll, ok
}

// obs is a reading as the filter takes it: u', v', ln Y and the covariance of
// the first two.
type obs struct {
	z    [3]float64
	r    cov2
	rY   float64 // variance of ln Y
	axes int     // 2, or 3 with ln Y
}

// model is the law of a kind of mode. State indices b, b+1 are an additive
// u'v' offset: what the model can not explain at the present drive. Index g is
// the logarithm of the scale between model and meter.
type model interface {
	dim() (n, b, g int)
	// predict fills z = (u', v', ln Y as the meter has it) at drive d (fractions
	// of Max), and, unless nil, the Jacobian jac, 3 x n row by row.
	predict(law int, x, d []float64, z *[3]float64, jac []float64)
	// sane keeps the state where the law means something.
	sane(x []float64)
	// drift adds what dt seconds at drive d do to the state.
	drift(h *hyp, dt float64, d []float64)
	// moved adds the doubt that a move brings.
	moved(h *hyp, from, to []float64)
	// doubt is the variance of u' and v' that a move to `to` would add.
	doubt(h *hyp, from, to []float64) cov2
}

// filter is the scratch of the updates of one match.
type filter struct {
	m       model
	n, b, g int
	jac     []float64 // 3 x n
	ph      []float64 // n x 3: P H^T
	x0, x1  []float64 // state before the update, and before the last step
}

func newFilter(m model) *filter {
	f := &filter{m: m}
	f.n, f.b, f.g = m.dim()
	f.jac = make([]float64, 3*f.n)
	f.ph = make([]float64, 3*f.n)
	f.x0 = make([]float64, f.n)
	f.x1 = make([]float64, f.n)
	return f
}

// innovation fills s = H P H^T + R (row by row, axes x axes in a 3x3) and the
// difference e = z - h(x), with H at the state x; f.ph holds P H^T after it.
func (f *filter) innovation(h *hyp, d []float64, o *obs, s *[9]float64, e *[3]float64) {
	var z [3]float64
	f.m.predict(h.law, h.x, d, &z, f.jac)
	for k := range 3 {
		e[k] = o.z[k] - z[k]
	}
	f.gain(h.p, o, s)
}

// gain fills f.ph = P H^T and s = H P H^T + R for the Jacobian in f.jac.
func (f *filter) gain(p []float64, o *obs, s *[9]float64) {
	n := f.n
	for i := range n {
		row := p[i*n : i*n+n]
		var a, b, c float64
		j0, j1, j2 := f.jac[:n], f.jac[n:2*n], f.jac[2*n:3*n]
		for k, v := range row {
			a += v * j0[k]
			b += v * j1[k]
			c += v * j2[k]
		}
		f.ph[3*i], f.ph[3*i+1], f.ph[3*i+2] = a, b, c
	}
	*s = [9]float64{}
	for i := range n {
		for r := range 3 {
			j := f.jac[r*n+i]
			if j == 0 {
				continue
			}
			for c := range 3 {
				s[3*r+c] += j * f.ph[3*i+c]
			}
		}
	}
	s[0] += o.r.uu
	s[1] += o.r.uv
	s[3] += o.r.uv
	s[4] += o.r.vv
	if o.axes == 3 {
		s[8] += o.rY
	} else { // no third axis: make it harmless
		s[2], s[5], s[6], s[7], s[8] = 0, 0, 0, 0, 1
	}
}

// logLik is the logarithm of the Gaussian density of e under s, and the
// squared Mahalanobis distance. Densities are per unit u'v' area (and unit
// ln Y): determinants near 1e-17 are normal here.
func logLik(s *[9]float64, e *[3]float64, axes int) (ll, maha float64) {
	a, b := *s, *e
	if axes < 3 {
		b[2] = 0
	}
	ee := b
	det := a[0]*(a[4]*a[8]-a[5]*a[7]) - a[1]*(a[3]*a[8]-a[5]*a[6]) + a[2]*(a[3]*a[7]-a[4]*a[6])
	if !(det > 0) || !solve3(&a, &b) {
		return math.Inf(-1), math.Inf(1)
	}
	maha = ee[0]*b[0] + ee[1]*b[1] + ee[2]*b[2]
	return -0.5*(maha+math.Log(det)) - 0.5*float64(axes)*math.Log(2*math.Pi), maha
}

// The iterated Kalman update is Gauss-Newton on the posterior (Bell and Cathey
// 1993). It stops when the prediction moves by less than iterEnough of the
// reading's noise; a step that makes the misfit worse is halved.
const (
	minIter    = 2
	maxIter    = 12
	iterEnough = 0.1
)

// update takes the reading into h (iterated extended Kalman filter). It returns
// the logarithm of the evidence by Laplace's method (misfit of the reading and
// of the prior at the solution), which a linear law shares with the Kalman
// filter and a bent one does not; and whether the numbers held.
func (f *filter) update(h *hyp, d []float64, o *obs) (ll float64, ok bool) {
	n := f.n
	copy(f.x0, h.x)
	var s [9]float64
	var z, was, a3 [3]float64
	unit := math.Sqrt(o.r.uu + o.r.vv)
	misfit := math.Inf(1)
	for k := range maxIter {
		f.m.predict(h.law, h.x, d, &z, f.jac)
		miss := math.Hypot(o.z[0]-z[0], o.z[1]-z[1])
		if k > 0 && miss > misfit+2*unit && k < maxIter-1 {
			for i := range n { // too far: half way back
				h.x[i] = (h.x[i] + f.x1[i]) / 2
			}
			continue
		}
		f.gain(h.p, o, &s)
		if k >= minIter && math.Hypot(z[0]-was[0], z[1]-was[1]) < iterEnough*unit {
			break
		}
		was, misfit = z, miss
		copy(f.x1, h.x)
		var e [3]float64
		for r := range o.axes {
			e[r] = o.z[r] - z[r]
			for k := range n {
				e[r] -= f.jac[r*n+k] * (f.x0[k] - h.x[k])
			}
		}
		a := s
		if !solve3(&a, &e) {
			copy(h.x, f.x0)
			return 0, false
		}
		a3 = e
		for i := range n {
			h.x[i] = f.x0[i] + f.ph[3*i]*e[0] + f.ph[3*i+1]*e[1]
			if o.axes == 3 {
				h.x[i] += f.ph[3*i+2] * e[2]
			}
		}
		f.m.sane(h.x)
	}
	ll = f.evidence(h, d, o, &s, &a3)
	inv, ok := invert3(&s)
	if !ok {
		copy(h.x, f.x0)
		return 0, false
	}
	if o.axes < 3 {
		for i := range n {
			f.ph[3*i+2] = 0
		}
	}
	for i := range n {
		a0, a1, a2 := f.ph[3*i], f.ph[3*i+1], f.ph[3*i+2]
		k0 := a0*inv[0] + a1*inv[3] + a2*inv[6]
		k1 := a0*inv[1] + a1*inv[4] + a2*inv[7]
		k2 := a0*inv[2] + a1*inv[5] + a2*inv[8]
		for j := i; j < n; j++ {
			v := h.p[i*n+j] - (k0*f.ph[3*j] + k1*f.ph[3*j+1] + k2*f.ph[3*j+2])
			h.p[i*n+j], h.p[j*n+i] = v, v
		}
		if h.p[i*n+i] < 1e-14 {
			h.p[i*n+i] = 1e-14
		}
	}
	for i := range n {
		if math.IsNaN(h.x[i]) || math.IsInf(h.x[i], 0) {
			return 0, false
		}
	}
	return ll, !math.IsNaN(ll)
}

// evidence is the Laplace logarithm of the evidence: s is the covariance of the
// innovation at the solution, a = s^-1 times the innovation that led there.
func (f *filter) evidence(h *hyp, d []float64, o *obs, s *[9]float64, a *[3]float64) float64 {
	var z [3]float64
	f.m.predict(h.law, h.x, d, &z, nil)
	prior := 0.0 // dx' P^-1 dx = a' (S - R) a
	r := [9]float64{o.r.uu, o.r.uv, 0, o.r.uv, o.r.vv, 0, 0, 0, o.rY}
	for i := range o.axes {
		for j := range o.axes {
			prior += a[i] * (s[3*i+j] - r[3*i+j]) * a[j]
		}
	}
	du, dv := o.z[0]-z[0], o.z[1]-z[1]
	data := (o.r.vv*du*du - 2*o.r.uv*du*dv + o.r.uu*dv*dv) / (o.r.uu*o.r.vv - o.r.uv*o.r.uv)
	if o.axes == 3 {
		data += (o.z[2] - z[2]) * (o.z[2] - z[2]) / o.rY
	}
	det := s[0]*(s[4]*s[8]-s[5]*s[7]) - s[1]*(s[3]*s[8]-s[5]*s[6]) + s[2]*(s[3]*s[7]-s[4]*s[6])
	if !(det > 0) {
		return math.Inf(-1)
	}
	return -0.5*(prior+data+math.Log(det)) - 0.5*float64(o.axes)*math.Log(2*math.Pi)
}

func invert3(s *[9]float64) (inv [9]float64, ok bool) {
	for c := range 3 {
		a := *s
		var b [3]float64
		b[c] = 1
		if !solve3(&a, &b) {
			return inv, false
		}
		inv[c], inv[3+c], inv[6+c] = b[0], b[1], b[2]
	}
	return inv, true
}

// spread gives the predicted u'v'lnY at d and the covariance of u'v' that
// comes from the state.
func (f *filter) spread(h *hyp, d []float64) (z [3]float64, c cov2) {
	f.m.predict(h.law, h.x, d, &z, f.jac)
	n := f.n
	j0, j1 := f.jac[:n], f.jac[n:2*n]
	for i := range n {
		row := h.p[i*n : i*n+n]
		var a, b float64
		for k, v := range row {
			a += v * j0[k]
			b += v * j1[k]
		}
		c.uu += j0[i] * a
		c.uv += j0[i] * b
		c.vv += j1[i] * b
	}
	return z, c
}
