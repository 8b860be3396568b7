package core

import (
	"math"

	"trueup/colorcalc"
)

// Robust standard deviations of a normal scatter.
const (
	// medianDeviation times the median deviation from the median is the standard deviation
	// on one axis: 1/Phi^-1(3/4).
	medianDeviation = 1.4826
	// rayleighMedian times the standard deviation of each axis is the median distance on two
	// axes: sqrt(2 ln 2), of the Rayleigh distribution.
	rayleighMedian = 1.1774
	// farOff standard deviations from the median a repeat is not of the same light.
	farOff = 5
)

// nearMedian lists the repeats that lie near the median point: within five standard
// deviations of the meter, or of the repeats themselves where they scatter by more. Three
// repeats are enough for one of them to be outvoted.
func nearMedian(uv []colorcalc.UV, sigma float64) (near []int) {
	if len(uv) == 0 {
		return nil
	}
	mid := medianUV(uv)
	dist := make([]float64, len(uv))
	for i, c := range uv {
		dist[i] = c.Dist(mid)
	}
	gate := farOff * max(sigma, median(dist)/rayleighMedian)
	for i, d := range dist {
		if d <= gate {
			near = append(near, i)
		}
	}
	return near
}

// nearMiddle lists the values of a non-empty list that lie near their median: within five standard deviations of their own
// scatter, or within least where that is more.
func nearMiddle(v []float64, least float64) (near []int) {
	mid := median(v)
	off := make([]float64, len(v))
	for i, y := range v {
		off[i] = math.Abs(y - mid)
	}
	gate := max(farOff*medianDeviation*median(off), least)
	for i, d := range off {
		if d <= gate {
			near = append(near, i)
		}
	}
	return near
}

// medianUV is the median of each axis of one or more points.
func medianUV(uv []colorcalc.UV) colorcalc.UV {
	us, vs := make([]float64, len(uv)), make([]float64, len(uv))
	for i, c := range uv {
		us[i], vs[i] = c.U, c.V
	}
	return colorcalc.UV{U: median(us), V: median(vs)}
}

// leastScatter of repeats is assumed where nothing is known of the meter: a last digit of u', v'.
const leastScatter = 1e-5

// byScatter lists the repeats that lie near the others by their own scatter alone. Fewer
// than four do not tell it: all of them are listed.
func byScatter(uv []colorcalc.UV) (near []int) {
	if len(uv) >= 4 {
		return nearMedian(uv, leastScatter)
	}
	for i := range uv {
		near = append(near, i)
	}
	return near
}

// pick is the listed elements.
func pick[T any](all []T, which []int) (kept []T) {
	for _, i := range which {
		kept = append(kept, all[i])
	}
	return kept
}
