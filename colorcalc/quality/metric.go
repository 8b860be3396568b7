package quality

import (
	"fmt"

	"trueup/colorcalc"
)

// metricStep is the step of the central differences, in L, a and b.
const metricStep = 0.001

// metricXYZ is the form of CIEDE2000 at a colour: dE² of a small step d in XYZ is d' metric d.
// It is J' Q J, Q the form in Lab by central differences, J the derivative of Lab by XYZ (CIE 15:2018).
func metricXYZ(x, white colorcalc.XYZ) (m [9]float64, err error) {
	at, ok := x.Lab(white)
	if !ok {
		return m, fmt.Errorf("%w: no colour can be computed for a sample", ErrCamera)
	}
	axis := [3]colorcalc.Lab{{L: metricStep}, {A: metricStep}, {B: metricStep}}
	square := func(a, b colorcalc.Lab) float64 {
		d := colorcalc.DeltaE2000(colorcalc.Lab{L: at.L + a.L + b.L, A: at.A + a.A + b.A, B: at.B + a.B + b.B}, at)
		return d * d
	}
	neg := func(a colorcalc.Lab) colorcalc.Lab { return colorcalc.Lab{L: -a.L, A: -a.A, B: -a.B} }
	var q [9]float64
	const h2 = metricStep * metricStep
	for a := range 3 {
		q[4*a] = (square(axis[a], colorcalc.Lab{}) + square(neg(axis[a]), colorcalc.Lab{})) / (2 * h2)
		for b := range a {
			v := (square(axis[a], axis[b]) + square(neg(axis[a]), neg(axis[b])) - square(axis[a], neg(axis[b])) - square(neg(axis[a]), axis[b])) / (8 * h2)
			q[3*a+b], q[3*b+a] = v, v
		}
	}
	j := x.LabSlopes(white)
	for r := range 3 {
		for c := range 3 {
			for a := range 3 {
				for b := range 3 {
					m[3*r+c] += j[3*a+r] * q[3*a+b] * j[3*b+c]
				}
			}
		}
	}
	return m, nil
}
