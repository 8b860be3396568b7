package estimate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Astray is how far the readings have put the head from its profile, beside how far they could be
// expected to: the root of chi^2 by its expectation, 1 at the least,
//
//	chi^2 = (x - m)' P0^-1 (x - m),  E chi^2 = tr(1 - P0^-1 P)
//
// with the profile's mean m and covariance P0 of the states that units share, and x and P what the leading
// component makes of them now. Readings at few colours can not tell which emitter is to blame, so what is
// not read yet is in as much doubt more (Birge, The calculation of errors by the method of least squares, 1932:
// a fit whose residuals are so many times too large is so many times less sure than it says).
func (s *Sum) Astray() float64 {
	n, N := s.model.Shared(), s.dim.N
	lead := s.Lead()
	for _, q := range s.model.Prior() {
		if q.Law != lead.Law || q.Wide != lead.Wide {
			continue // the first of them is of the usual scatter
		}
		scale := 1.0
		if q.Law == 0 && !q.Wide {
			scale = typeShare + scatters[min(max(lead.Scale, 0), len(scatters)-1)]*(1-typeShare)
		}
		p0 := mat.NewSymDense(n, nil)
		p0.ScaleSym(scale, leading(q.P, N, n))
		x := mat.NewVecDense(n, nil)
		for i := range n {
			x.SetVec(i, lead.X[i]-q.X[i])
		}
		var chol mat.Cholesky
		var y mat.VecDense
		var k mat.Dense
		if !chol.Factorize(p0) || chol.SolveVecTo(&y, x) != nil || chol.SolveTo(&k, leading(lead.P, N, n)) != nil {
			return 1
		}
		expected := max(float64(n)-mat.Trace(&k), 1)
		return math.Sqrt(max(mat.Dot(x, &y)/expected, 1))
	}
	return 1
}
