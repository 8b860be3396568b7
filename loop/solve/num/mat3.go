package num

import "math"

// singular3 is the part of the largest entry below which a pivot counts as zero.
// Relative: covariances of (u', v', ln Y) have determinants near 1e-17, which is
// normal there.
const singular3 = 1e-14

// Solve3 solves A x = b for a 3x3 A, by elimination with column pivots; x takes
// the place of b, and A is used up. ok is false when A is singular.
func Solve3(a *[9]float64, b *[3]float64) (ok bool) {
	big := 0.0
	for _, v := range a {
		big = max(big, math.Abs(v))
	}
	for c := range 3 {
		p := c
		for r := c + 1; r < 3; r++ {
			if math.Abs(a[3*r+c]) > math.Abs(a[3*p+c]) {
				p = r
			}
		}
		if !(math.Abs(a[3*p+c]) > singular3*big) {
			return false
		}
		if p != c {
			for k := range 3 {
				a[3*p+k], a[3*c+k] = a[3*c+k], a[3*p+k]
			}
			b[p], b[c] = b[c], b[p]
		}
		for r := c + 1; r < 3; r++ {
			f := a[3*r+c] / a[3*c+c]
			for k := c; k < 3; k++ {
				a[3*r+k] -= f * a[3*c+k]
			}
			b[r] -= f * b[c]
		}
	}
	for r := 2; r >= 0; r-- {
		for k := r + 1; k < 3; k++ {
			b[r] -= a[3*r+k] * b[k]
		}
		b[r] /= a[3*r+r]
	}
	return true
}

// Invert3 is the inverse of a 3x3 matrix; ok is false when it is singular.
func Invert3(s *[9]float64) (inv [9]float64, ok bool) {
	for c := range 3 {
		a := *s
		var b [3]float64
		b[c] = 1
		if !Solve3(&a, &b) {
			return inv, false
		}
		inv[c], inv[3+c], inv[6+c] = b[0], b[1], b[2]
	}
	return inv, true
}

// Det3 is the determinant of a 3x3 matrix.
func Det3(a *[9]float64) float64 {
	return a[0]*(a[4]*a[8]-a[5]*a[7]) - a[1]*(a[3]*a[8]-a[5]*a[6]) + a[2]*(a[3]*a[7]-a[4]*a[6])
}
