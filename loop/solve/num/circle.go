package num

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

// Phi is the standard normal distribution function.
func Phi(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

const (
	leastSD = 1e-9 // u'v': a standard deviation below it counts as none
	tails   = 7    // standard deviations beyond which nothing is integrated: 3e-12 of the whole
)

// InCircle is the probability that a 2-D Gaussian with mean (du, dv) from the
// centre and covariance c lies within radius r. Exact but for the 24-point rule
// along the major axis; the other axis is integrated in closed form.
func InCircle(du, dv float64, c Cov2, r float64) float64 {
	hi, lo, ex, ey := c.Eigen()
	m1, m2 := du*ex+dv*ey, -du*ey+dv*ex
	s1, s2 := math.Sqrt(hi), math.Sqrt(lo)
	if s1 < leastSD {
		if math.Hypot(du, dv) <= r {
			return 1
		}
		return 0
	}
	a, b := max(-r, m1-tails*s1), min(r, m1+tails*s1)
	if a >= b {
		return 0
	}
	mid, half := (a+b)/2, (b-a)/2
	f := func(x float64) float64 {
		h := math.Sqrt(max(r*r-x*x, 0))
		g := math.Exp(-0.5*(x-m1)*(x-m1)/hi) / (s1 * math.Sqrt(2*math.Pi))
		if s2 < leastSD {
			if math.Abs(m2) <= h {
				return g
			}
			return 0
		}
		return g * (Phi((h-m2)/s2) - Phi((-h-m2)/s2))
	}
	sum := 0.0
	for k := range glx {
		sum += glw[k] * (f(mid+half*glx[k]) + f(mid-half*glx[k]))
	}
	return min(sum*half, 1)
}

// Clamp is v, but no less than lo and no more than hi.
func Clamp(v, lo, hi float64) float64 { return max(lo, min(hi, v)) }
