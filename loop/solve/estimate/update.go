package estimate

import (
	"math"

	"trueup/loop/solve/num"
)

// contract takes what the reading told off the covariance:
//
//	K = P H' S^-1
//	P = P - K (P H')'
//
// symmetric by construction, and no variance below leastVariance.
func (f *Filter) contract(c *Component, o *Obs, s *[9]float64) (ok bool) {
	n := f.dim.N
	inv, ok := num.Invert3(s)
	if !ok {
		return false
	}
	if o.Axes < 3 {
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
			v := c.P[i*n+j] - (k0*f.ph[3*j] + k1*f.ph[3*j+1] + k2*f.ph[3*j+2])
			c.P[i*n+j], c.P[j*n+i] = v, v
		}
		if c.P[i*n+i] < leastVariance {
			c.P[i*n+i] = leastVariance
		}
	}
	return true
}

// evidence is ln of the evidence by Laplace's method: the misfit of the reading
// and of the prior at the solution. A linear law gives what the Kalman filter
// gives, a bent one does not. S is the covariance of the innovation at the
// solution, a = S^-1 times the innovation that led there:
//
//	ln p(z) = -1/2 (dx' P^-1 dx + e' R^-1 e + ln |S| + axes ln 2 pi),  dx' P^-1 dx = a' (S - R) a
//
// Densities are per unit u'v' area and unit ln Y: |S| near 1e-17 is normal here.
func (f *Filter) evidence(c *Component, d []float64, o *Obs, s *[9]float64, a *[3]float64) float64 {
	z := f.Predict(&c.State, d)
	prior := 0.0
	r := [9]float64{o.R.UU, o.R.UV, 0, o.R.UV, o.R.VV, 0, 0, 0, o.RY}
	for i := range o.Axes {
		for j := range o.Axes {
			prior += a[i] * (s[3*i+j] - r[3*i+j]) * a[j]
		}
	}
	du, dv := o.Z[0]-z[0], o.Z[1]-z[1]
	data := (o.R.VV*du*du - 2*o.R.UV*du*dv + o.R.UU*dv*dv) / (o.R.UU*o.R.VV - o.R.UV*o.R.UV)
	if o.Axes == 3 {
		data += (o.Z[2] - z[2]) * (o.Z[2] - z[2]) / o.RY
	}
	det := num.Det3(s)
	if !(det > 0) {
		return math.Inf(-1)
	}
	return -0.5*(prior+data+math.Log(det)) - 0.5*float64(o.Axes)*math.Log(2*math.Pi)
}
