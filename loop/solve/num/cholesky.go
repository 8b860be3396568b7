package num

import "math"

// leastPivot is the square below which a pivot of a covariance is the noise of
// the arithmetic: the smallest variances in use are 1e-14.
const leastPivot = 1e-18

// Cholesky fills l with the lower factor of the symmetric n x n matrix p = L L'.
// ok is false, and l of no use, when p is not positive definite.
func Cholesky(p, l []float64, n int) (ok bool) { return CholeskyRank(p, l, n) == n }

// CholeskyRank is Cholesky for a covariance that may know some direction exactly.
// A pivot that is zero but for the noise of the arithmetic leaves a column of
// zeros: nothing is drawn along it. It returns the number of true pivots, n for a
// positive definite p.
func CholeskyRank(p, l []float64, n int) (rank int) {
	clear(l)
	for j := range n {
		s := p[j*n+j]
		for k := range j {
			s -= l[j*n+k] * l[j*n+k]
		}
		if !(s > leastPivot) {
			continue
		}
		rank++
		d := math.Sqrt(s)
		l[j*n+j] = d
		for i := j + 1; i < n; i++ {
			s := p[i*n+j]
			for k := range j {
				s -= l[i*n+k] * l[j*n+k]
			}
			l[i*n+j] = s / d
		}
	}
	return rank
}

// Forward solves L x = b in place for a lower triangular n x n factor L.
func Forward(l, b []float64, n int) {
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i*n+k] * b[k]
		}
		b[i] = s / l[i*n+i]
	}
}

// Backward solves L' x = b in place.
func Backward(l, b []float64, n int) {
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for k := i + 1; k < n; k++ {
			s -= l[k*n+i] * b[k]
		}
		b[i] = s / l[i*n+i]
	}
}
