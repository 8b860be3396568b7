package colorcalc

import "math"

// Readings of one light scatter about it, and so does what is known of a light by them. Where nothing more is said the scatter is normal, and alike and
// independent on u' and v'; sigma is its standard deviation for each of the two axes. The squared distance from the truth, in squares of sigma, is then
// chi-squared with two degrees of freedom.

// Bounds of such a scatter, each rounded to four figures.
const (
	Radius95 = 2.448 // in sigmas, of the circle about the truth that holds 95 %: the root of Square95
	Square95 = 5.991 // the 95 % point of chi-squared with two degrees of freedom, -2 ln 0.05
)

// ReadingsFor is how many readings of one light are needed so that their mean lies within a tolerance, u'v', with 95 %; 1 at the least.
func ReadingsFor(sigma, tolerance float64) int {
	k := Radius95 * sigma / tolerance
	return max(1, int(math.Ceil(k*k)))
}

// axesOfXY is how far a step in x and y goes in u' and v' for a blue, root mean square for each axis. Among whites it goes some 0.7 of itself: the figure is on
// the safe side, as repeats of a quiet meter are rounded alike, and their mean is no better than one of them.
const axesOfXY = 1.6

// RoundingSigma is the sigma, u'v', that is counted for x and y that are rounded to a step: an error that is uniform over one step has a standard deviation
// of step/sqrt(12).
func RoundingSigma(step float64) float64 { return axesOfXY * step / math.Sqrt(12) }
