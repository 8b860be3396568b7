package solve

import "math"

// glx and glw are the 12 positive nodes and weights of the 24-point
// Gauss-Legendre rule on [-1, 1] (Abramowitz and Stegun, table 25.4).
var glx = [12]float64{
	0.0640568928626056, 0.1911188674736163, 0.3150426796961634, 0.4337935076260451,
	0.5454214713888396, 0.6480936519369755, 0.7401241915785544, 0.8200019859739029,
	0.8864155270044011, 0.9382745520027328, 0.9747285559713095, 0.9951872199970213,
}
var glw = [12]float64{
	0.1279381953467522, 0.1258374563468283, 0.1216704729278034, 0.1155056680537256,
	0.1074442701159656, 0.0976186521041139, 0.0861901615319533, 0.0733464814110803,
	0.0592985849154368, 0.0442774388174198, 0.0285313886289337, 0.0123412297999872,
}

// phi is the standard normal distribution function.
func phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// cov2 is a symmetric 2x2 covariance.
type cov2 struct{ uu, uv, vv float64 }

// eigen returns the larger and smaller variance and the unit vector of the
// larger one.
func (c cov2) eigen() (hi, lo, ex, ey float64) {
	m, d := (c.uu+c.vv)/2, (c.uu-c.vv)/2
	r := math.Hypot(d, c.uv)
	hi, lo = m+r, max(m-r, 0)
	if r < 1e-300 {
		return hi, lo, 1, 0
	}
	a := 0.5 * math.Atan2(c.uv, d)
	return hi, lo, math.Cos(a), math.Sin(a)
}

// sd is the geometric mean of the two standard deviations' squares: one number
// per axis for people.
func (c cov2) sd() float64 { return math.Sqrt(math.Max((c.uu+c.vv)/2, 0)) }

// inCircle is the probability that a 2-D Gaussian with mean (du, dv) from the
// centre and covariance c lies within radius r. Exact but for the 24-point rule
// along the major axis; the other axis is integrated in closed form.
func inCircle(du, dv float64, c cov2, r float64) float64 {
	hi, lo, ex, ey := c.eigen()
	m1, m2 := du*ex+dv*ey, -du*ey+dv*ex
	s1, s2 := math.Sqrt(hi), math.Sqrt(lo)
	if s1 < 1e-9 {
		if math.Hypot(du, dv) <= r {
			return 1
		}
		return 0
	}
	a, b := math.Max(-r, m1-7*s1), math.Min(r, m1+7*s1)
	if a >= b {
		return 0
	}
	mid, half := (a+b)/2, (b-a)/2
	f := func(x float64) float64 {
		h := math.Sqrt(math.Max(r*r-x*x, 0))
		g := math.Exp(-0.5*(x-m1)*(x-m1)/hi) / (s1 * math.Sqrt(2*math.Pi))
		if s2 < 1e-9 {
			if math.Abs(m2) <= h {
				return g
			}
			return 0
		}
		return g * (phi((h-m2)/s2) - phi((-h-m2)/s2))
	}
	sum := 0.0
	for k := range glx {
		sum += glw[k] * (f(mid+half*glx[k]) + f(mid-half*glx[k]))
	}
	return math.Min(sum*half, 1)
}

// solve3 solves a 3x3 system (row by row) by elimination with column pivots;
// ok is false when a pivot is below 1e-14 of the largest entry.
func solve3(a *[9]float64, b *[3]float64) (ok bool) {
	big := 0.0
	for _, v := range a {
		big = math.Max(big, math.Abs(v))
	}
	for c := range 3 {
		p := c
		for r := c + 1; r < 3; r++ {
			if math.Abs(a[3*r+c]) > math.Abs(a[3*p+c]) {
				p = r
			}
		}
		if !(math.Abs(a[3*p+c]) > 1e-14*big) {
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
