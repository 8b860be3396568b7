package core

import (
	"cmp"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A lamp that warms moves its colour too, evenly, and every lamp does: as far as a tolerance and a half in the first seconds. One
// that sets itself anew leaps. While a lamp is watched there is time to read it, and these readings tell the one from the
// other: both curves are fitted to all of them, by least squares.

// glance is a reading of a watched unit, so long after its light had arrived.
type glance struct {
	after time.Duration
	r     solve.Reading
}

// shape is what was read of a watched unit, explained.
type shape struct {
	// evidence is by how much warming and a leap together explain it better than warming alone: a difference of sums of squared
	// residuals, in variances. The leap and its moment are fitted, so of a unit that does not leap it is 5 on average, and above 15 in one of
	// a hundred.
	evidence float64
	by       float64 // u'v', of the leap
}

// Figures of the fit.
const (
	glances    = 16   // while a unit is watched, beside the early and the late readings
	oddGlance  = 5.0  // standard deviations from the median of the five about it: it does not count
	warmLeast  = 3.0  // s, time constants of warming that are looked for
	warmMost   = 60.0 // s; slower is a straight line here
	warmGrid   = 1.35 // ratio of neighbours among them
	sideGlance = 2    // readings on each side of a leap

	leapShown  = 15.0 // evidence of a unit that leaps
	leapShown2 = 12.5 // more for each further unit, where it is that of several
	leapHarm   = 0.6  // of the tolerance, by the root of the mean square: less than that does no harm
)

// shapeOf fits the curves.
func shapeOf(all []glance) shape {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b glance) int { return cmp.Compare(a.after, b.after) })
	all = withoutOdd(all)
	n := len(all)
	if n < 2*sideGlance+1 {
		return shape{}
	}
	var s shape
	alone, both := math.Inf(1), math.Inf(1)
	one := func(int) float64 { return 1 }
	for tau := warmLeast; tau <= warmMost; tau *= warmGrid {
		warm := func(i int) float64 { return -math.Expm1(-all[i].after.Seconds() / tau) }
		chi2, _ := leastSquares(all, one, warm)
		alone = min(alone, chi2)
		for k := sideGlance; k <= n-sideGlance; k++ {
			leap := func(i int) float64 {
				if i >= k {
					return 1
				}
				return 0
			}
			if chi2, by := leastSquares(all, one, warm, leap); chi2 < both {
				both, s.by = chi2, by
			}
		}
	}
	if both < alone {
		s.evidence = alone - both
	}
	return s
}

// moves takes in what a unit of a type has shown, and tells how far it, or the units so far together, move their colour in the time
// of a watch; 0: not so that it is shown, or does harm. leaps tells whether that is no warming. by is how far late readings are from
// early ones, squared the same in variances.
func (s *steadiness) moves(h shape, by, squared, tolerance float64) (far float64, leaps bool) {
	if s.watched <= watchedUnits { // of these the shape is known
		s.evidence, s.squares = s.evidence+h.evidence, s.squares+h.by*h.by
		n := float64(s.watched)
		if together := math.Sqrt(s.squares / n); n > 1 && s.evidence > leapShown+(n-1)*leapShown2 && together > leapHarm*tolerance {
			far, leaps = together, true
		}
	}
	if squared > steadyMoved && by > steadyHarm*tolerance {
		far, leaps = max(far, by), leaps || h.evidence > leapShown
	}
	return far, leaps
}

// withoutOdd leaves out readings that are far from those about them.
func withoutOdd(all []glance) (near []glance) {
	for i, g := range all {
		from := min(max(0, i-2), max(0, len(all)-5))
		var about []colorcalc.UV
		for _, o := range all[from:min(len(all), from+5)] {
			about = append(about, o.r.UV)
		}
		if g.r.UV.Dist(medianUV(about)) <= oddGlance*g.r.SigmaUV*math.Sqrt2 {
			near = append(near, g)
		}
	}
	return near
}

// leastSquares fits a sum of at most three functions of the readings to both axes, with the normal equations, and gives the sum of squared residuals in
// variances, and how far the last function moves the colour.
func leastSquares(all []glance, f ...func(i int) float64) (chi2, by float64) {
	m := len(f)
	var a [3][5]float64 // normal equations, and two right sides
	for i, g := range all {
		w := 1 / (g.r.SigmaUV * g.r.SigmaUV)
		for j := range m {
			for k := range m {
				a[j][k] += w * f[j](i) * f[k](i)
			}
			a[j][3] += w * f[j](i) * g.r.UV.U
			a[j][4] += w * f[j](i) * g.r.UV.V
		}
	}
	for j := range m { // Gauss and Jordan; the matrix is positive definite unless functions coincide
		if !(a[j][j] > 1e-9) {
			return math.Inf(1), 0
		}
		for k := range m {
			if k == j {
				continue
			}
			q := a[k][j] / a[j][j]
			for c := range a[k] {
				a[k][c] -= q * a[j][c]
			}
		}
	}
	for i, g := range all {
		u, v := g.r.UV.U, g.r.UV.V
		for j := range m {
			u -= a[j][3] / a[j][j] * f[j](i)
			v -= a[j][4] / a[j][j] * f[j](i)
		}
		chi2 += (u*u + v*v) / (g.r.SigmaUV * g.r.SigmaUV)
	}
	last := m - 1
	return chi2, math.Hypot(a[last][3], a[last][4]) / a[last][last]
}
