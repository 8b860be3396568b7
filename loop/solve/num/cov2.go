package num

import "math"

// Cov2 is a symmetric 2x2 covariance, of u' and v'.
type Cov2 struct{ UU, UV, VV float64 }

// Eigen returns the larger and the smaller variance, and the unit vector of the
// larger one.
func (c Cov2) Eigen() (hi, lo, ex, ey float64) {
	m, d := (c.UU+c.VV)/2, (c.UU-c.VV)/2
	r := math.Hypot(d, c.UV)
	hi, lo = m+r, max(m-r, 0)
	if r < 1e-300 {
		return hi, lo, 1, 0
	}
	a := 0.5 * math.Atan2(c.UV, d)
	return hi, lo, math.Cos(a), math.Sin(a)
}

// SD is the root of the mean of the two variances: one standard deviation per
// axis, for people.
func (c Cov2) SD() float64 { return math.Sqrt(max((c.UU+c.VV)/2, 0)) }

// Condition is what one more reading with covariance R does to covariance C, for
// a state that is read directly: with S = C + R and the gain K = C S^-1, the mean
// will walk with covariance K C, and C - K C is left.
func Condition(c, r Cov2) (after, walk Cov2) {
	s := Cov2{c.UU + r.UU, c.UV + r.UV, c.VV + r.VV}
	det := s.UU*s.VV - s.UV*s.UV
	if !(det > 0) {
		return c, Cov2{}
	}
	// S^-1 C, column by column: (a, b) and (e, f)
	a := (s.VV*c.UU - s.UV*c.UV) / det
	b := (s.UU*c.UV - s.UV*c.UU) / det
	e := (s.VV*c.UV - s.UV*c.VV) / det
	f := (s.UU*c.VV - s.UV*c.UV) / det
	walk = Cov2{c.UU*a + c.UV*b, c.UU*e + c.UV*f, c.UV*e + c.VV*f}
	after = Cov2{c.UU - walk.UU, c.UV - walk.UV, c.VV - walk.VV}
	return after, walk
}
