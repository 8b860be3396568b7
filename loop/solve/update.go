package solve

import "math"

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
