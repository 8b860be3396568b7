package model

import (
	"math"

	"trueup/colorcalc"
)

// ledLocus holds what a narrow emitter looks like as its peak moves: u', v' and
// ln of the luminance per radiant power, for Gaussian spectra of 25 nm full
// width at half maximum with peaks from 400 to 700 nm in steps of 5 nm.
// Integrated with the CIE 1931 2 degree functions at 1 nm (CIE 15:2018).
var ledLocus = [...][3]float64{
	{0.25337, 0.01684, -7.1217},
	{0.25215, 0.01761, -6.5579},
	{0.25063, 0.01879, -6.0175},
	{0.24874, 0.02047, -5.5133},
	{0.24637, 0.02275, -5.0543},
	{0.24337, 0.02579, -4.6443},
	{0.23954, 0.02981, -4.2819},
	{0.23462, 0.03512, -3.9614},
	{0.22828, 0.04209, -3.6752},
	{0.22022, 0.05124, -3.4149},
	{0.21012, 0.06326, -3.1733},
	{0.19767, 0.07914, -2.9446},
	{0.18251, 0.10030, -2.7246},
	{0.16420, 0.12870, -2.5101},
	{0.14235, 0.16653, -2.2989},
	{0.11711, 0.21536, -2.0892},
	{0.08973, 0.27471, -1.8794},
	{0.06289, 0.34057, -1.6683},
	{0.04008, 0.40567, -1.4558},
	{0.02405, 0.46241, -1.2442},
	{0.01561, 0.50637, -1.0378},
	{0.01382, 0.53739, -0.8427},
	{0.01705, 0.55783, -0.6648},
	{0.02380, 0.57062, -0.5088},
	{0.03301, 0.57819, -0.3772},
	{0.04399, 0.58231, -0.2703},
	{0.05632, 0.58419, -0.1865},
	{0.06981, 0.58459, -0.1232},
	{0.08446, 0.58401, -0.0776},
	{0.10035, 0.58271, -0.0471},
	{0.11767, 0.58085, -0.0296},
	{0.13660, 0.57850, -0.0239},
	{0.15733, 0.57571, -0.0292},
	{0.18001, 0.57252, -0.0453},
	{0.20475, 0.56893, -0.0721},
	{0.23155, 0.56499, -0.1098},
	{0.26033, 0.56072, -0.1585},
	{0.29082, 0.55618, -0.2182},
	{0.32255, 0.55144, -0.2889},
	{0.35487, 0.54661, -0.3704},
	{0.38699, 0.54181, -0.4628},
	{0.41805, 0.53718, -0.5663},
	{0.44726, 0.53281, -0.6817},
	{0.47402, 0.52882, -0.8098},
	{0.49799, 0.52524, -0.9519},
	{0.51909, 0.52209, -1.1089},
	{0.53745, 0.51935, -1.2815},
	{0.55328, 0.51698, -1.4697},
	{0.56682, 0.51496, -1.6735},
	{0.57826, 0.51325, -1.8931},
	{0.58779, 0.51182, -2.1287},
	{0.59559, 0.51066, -2.3808},
	{0.60187, 0.50972, -2.6492},
	{0.60685, 0.50897, -2.9332},
	{0.61078, 0.50838, -3.2314},
	{0.61388, 0.50792, -3.5416},
	{0.61635, 0.50755, -3.8621},
	{0.61834, 0.50725, -4.1915},
	{0.61992, 0.50701, -4.5288},
	{0.62116, 0.50683, -4.8723},
	{0.62206, 0.50669, -5.2189},
}

// ledStep is the grid of ledLocus in nanometres.
const ledStep = 5

// nearLocus is how far (u'v') an emitter may lie from ledLocus and still be
// taken for a narrow one, whose unit scatter is a shift in wavelength.
const nearLocus = 0.055

// perNanometre gives d(u', v', ln Y)/dλ of a narrow emitter of nominal colour
// uv, and its peak. ok is false for a broad emitter (white, lime), which has no
// such line.
func perNanometre(uv colorcalc.UV) (d [3]float64, nm float64, ok bool) {
	best, at := math.Inf(1), 0
	for i, p := range ledLocus {
		if e := math.Hypot(p[0]-uv.U, p[1]-uv.V); e < best {
			best, at = e, i
		}
	}
	if best > nearLocus {
		return d, 0, false
	}
	lo, hi := max(at-1, 0), min(at+1, len(ledLocus)-1)
	for k := range d {
		d[k] = (ledLocus[hi][k] - ledLocus[lo][k]) / float64((hi-lo)*ledStep)
	}
	return d, 400 + float64(at*ledStep), true
}
