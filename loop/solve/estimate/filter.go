package estimate

import (
	"math"

	"trueup/loop/solve/model"
	"trueup/loop/solve/num"
)

// Filter is the iterated extended Kalman filter of one model, with its scratch.
type Filter struct {
	model model.Model
	dim   model.Dim
	jac   []float64 // H, 3 x N
	ph    []float64 // P H', N x 3
	x0    []float64 // state before the update
	x1    []float64 // state before the last iteration
	z     [3]float64
}

// NewFilter makes the filter of a model.
func NewFilter(m model.Model) *Filter {
	n := m.Dim().N
	room := make([]float64, 8*n)
	return &Filter{model: m, dim: m.Dim(), jac: room[:3*n], ph: room[3*n : 6*n], x0: room[6*n : 7*n], x1: room[7*n:]}
}

// Predict is h(x), what the model makes of state x at drive d.
func (f *Filter) Predict(s *model.State, d []float64) [3]float64 {
	f.model.Predict(s.Law, s.X, d, &f.z, nil)
	return f.z
}

// Level is ln of the level that the model makes of state x at drive d, and its standard deviation, from H P H'.
func (f *Filter) Level(s *model.State, d []float64) (lnY, sd float64) {
	f.model.Predict(s.Law, s.X, d, &f.z, f.jac)
	n := f.dim.N
	j := f.jac[2*n : 3*n]
	v := 0.0
	for i := range n {
		for k, p := range s.P[i*n : i*n+n] {
			v += j[i] * p * j[k]
		}
	}
	return f.z[2], math.Sqrt(max(v, 0))
}

// Innovation gives e = z - h(x), the standard deviation that was foretold of its level, and its squared Mahalanobis
// distance e' S^-1 e over the axes read, with H at the state x.
func (f *Filter) Innovation(s *model.State, d []float64, o *Obs) (e [3]float64, sd, mahalanobis float64) {
	var S [9]float64
	f.model.Predict(s.Law, s.X, d, &f.z, f.jac)
	for k := range 3 {
		e[k] = o.Z[k] - f.z[k]
	}
	f.innovationCov(s.P, o, &S)
	r := e
	if o.Axes < 3 {
		r[2] = 0
	}
	a, level := r, math.Sqrt(S[8])
	if !(num.Det3(&S) > 0) || !num.Solve3(&S, &a) {
		return e, level, math.Inf(1)
	}
	return e, level, r[0]*a[0] + r[1]*a[1] + r[2]*a[2]
}

// innovationCov fills f.ph = P H' and S = H P H' + R for the Jacobian in f.jac.
func (f *Filter) innovationCov(p []float64, o *Obs, s *[9]float64) {
	n := f.dim.N
	// P H'
	j0, j1, j2 := f.jac[:n], f.jac[n:2*n], f.jac[2*n:3*n]
	for i := range n {
		row := p[i*n : i*n+n]
		var a, b, c float64
		for k, v := range row {
			a += v * j0[k]
			b += v * j1[k]
			c += v * j2[k]
		}
		f.ph[3*i], f.ph[3*i+1], f.ph[3*i+2] = a, b, c
	}
	// S = H P H' + R
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
	s[0] += o.R.UU
	s[1] += o.R.UV
	s[3] += o.R.UV
	s[4] += o.R.VV
	if o.Axes == 3 {
		s[8] += o.RY
	} else { // no third axis: that of the unit matrix
		s[2], s[5], s[6], s[7], s[8] = 0, 0, 0, 0, 1
	}
}

// Update takes the reading into a component. It returns ln of the evidence, and
// whether the numbers held.
func (f *Filter) Update(c *Component, d []float64, o *Obs) (ll float64, ok bool) {
	copy(f.x0, c.X)
	s, a, ok := f.iterate(c, d, o)
	if !ok {
		copy(c.X, f.x0)
		return 0, false
	}
	ll = f.evidence(c, d, o, &s, &a)
	if !f.contract(c, o, &s) {
		copy(c.X, f.x0)
		return 0, false
	}
	for _, x := range c.X {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return 0, false
		}
	}
	return ll, !math.IsNaN(ll)
}

// iterate moves the mean of a component to the most probable state. Each step
// linearises at the last state x_i and starts from the prior x_0:
//
//	S       = H P H' + R
//	a       = S^-1 (z - h(x_i) - H (x_0 - x_i))
//	x_(i+1) = x_0 + P H' a
//
// It returns the last S and a; f.ph then holds the last P H'.
func (f *Filter) iterate(c *Component, d []float64, o *Obs) (s [9]float64, a [3]float64, ok bool) {
	n := f.dim.N
	var was [3]float64
	unit := math.Sqrt(o.R.UU + o.R.VV)
	misfit := math.Inf(1)
	for k := range maxIter {
		f.model.Predict(c.Law, c.X, d, &f.z, f.jac)
		z := f.z
		miss := math.Hypot(o.Z[0]-z[0], o.Z[1]-z[1])
		if k > 0 && miss > misfit+iterWorse*unit && k < maxIter-1 {
			for i := range n { // too far: half way back
				c.X[i] = (c.X[i] + f.x1[i]) / 2
			}
			continue
		}
		f.innovationCov(c.P, o, &s)
		if k >= minIter && math.Hypot(z[0]-was[0], z[1]-was[1]) < iterEnough*unit {
			break
		}
		was, misfit = z, miss
		copy(f.x1, c.X)
		var e [3]float64
		for r := range o.Axes {
			e[r] = o.Z[r] - z[r]
			for k := range n {
				e[r] -= f.jac[r*n+k] * (f.x0[k] - c.X[k])
			}
		}
		used := s
		if !num.Solve3(&used, &e) {
			return s, a, false
		}
		a = e
		for i := range n {
			c.X[i] = f.x0[i] + f.ph[3*i]*a[0] + f.ph[3*i+1]*a[1]
			if o.Axes == 3 {
				c.X[i] += f.ph[3*i+2] * a[2]
			}
		}
		f.model.Bound(c.X)
	}
	return s, a, true
}

// UpdatePooled is Update, with further readings at a drive taken as one mean.
func (f *Filter) UpdatePooled(c *Component, d []float64, o *Obs) (ll float64, ok bool) {
	ll, ok = f.Update(c, d, o)
	mean := c.pool(o)
	if !ok || c.at.n < 2 {
		return ll, ok
	}
	copy(c.X, c.at.x)
	copy(c.P, c.at.p)
	_, ok = f.Update(c, d, &mean)
	return ll, ok
}

// Spread gives the predicted z at d, and the covariance of u' and v' that comes
// from the state: H P H' without the reading's own noise.
func (f *Filter) Spread(s *model.State, d []float64) (z [3]float64, c num.Cov2) {
	f.model.Predict(s.Law, s.X, d, &f.z, f.jac)
	n := f.dim.N
	j0, j1 := f.jac[:n], f.jac[n:2*n]
	for i := range n {
		row := s.P[i*n : i*n+n]
		var a, b float64
		for k, v := range row {
			a += v * j0[k]
			b += v * j1[k]
		}
		c.UU += j0[i] * a
		c.UV += j0[i] * b
		c.VV += j1[i] * b
	}
	return f.z, c
}
