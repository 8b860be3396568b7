package core

import "slices"

// median of a non-empty list; the mean of the middle two for an even count.
func median(v []float64) float64 {
	s := slices.Sorted(slices.Values(v))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
