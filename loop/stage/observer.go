package stage

import (
	"math"
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// The stage works on its own grid: 380..780 nm, the range for which the
// published white points of CIE 15 hold, in steps of 2 nm. A light source of
// the stage is at least four steps wide, for which the sum converges far below
// the last digit of a meter.
const (
	gridFrom = 380
	gridTo   = 780
	gridStep = 2
	gridN    = (gridTo-gridFrom)/gridStep + 1
)

// cmf holds the CIE 1931 colour-matching functions times the step, on the
// stage's grid: what the observer sees of one unit of power at one wavelength.
// A lamp is integrated some twenty times when it is drawn, so the sum is done
// here on plain arrays.
var cmf = sync.OnceValue(func() *[gridN]colorcalc.XYZ {
	var out [gridN]colorcalc.XYZ
	line := spectrum.Spectrum{StartNM: gridFrom, StepNM: gridStep, Values: make([]float64, gridN)}
	for i := range out {
		line.Values[i] = 1
		out[i] = line.XYZ(spectrum.Deg2).Scale(1.0 / spectrum.Km)
		line.Values[i] = 0
	}
	return &out
})

// integrate sums a spectral power distribution (per nm, any scale) against the
// CIE 1931 observer: CIE 15:2018 clause 7.1, k = 1.
func integrate(spd *[gridN]float64) colorcalc.XYZ {
	var c colorcalc.XYZ
	for i, m := range cmf() {
		c.X += spd[i] * m.X
		c.Y += spd[i] * m.Y
		c.Z += spd[i] * m.Z
	}
	return c
}

// fwhmToSigma turns a full width at half maximum into the standard deviation
// of a Gaussian: 1 / (2 sqrt(2 ln 2)).
var fwhmToSigma = 1 / (2 * math.Sqrt(2*math.Ln2))
