package spectrum

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
)

// C2 is the second radiation constant of CIE 15:2018, in nm K.
const C2 = 1.4388e7

// fwhmToSigma turns a full width at half maximum into a standard deviation.
var fwhmToSigma = 1 / (2 * math.Sqrt(2*math.Ln2))

// Planck is the black body of CIE 15:2018, 100 at 560 nm. ErrRange
// for temperatures outside 100 K to 1e9 K.
func Planck(t colorcalc.Kelvin, g Grid) (Spectrum, error) {
	if !(t >= 100 && t <= 1e9) {
		return Spectrum{}, fmt.Errorf("black body of %v K: %w", float64(t), colorcalc.ErrRange)
	}
	ref := math.Expm1(C2 / (560 * float64(t)))
	return g.On(func(nm float64) float64 {
		q := 560 / nm
		return 100 * q * q * q * q * q * ref / math.Expm1(C2/(nm*float64(t)))
	}), nil
}

// Daylight is CIE daylight of a correlated colour temperature on today's scale
// (CIE 15:2018), 100 at 560 nm, components interpolated linearly,
// M1 and M2 not rounded. Zero outside 300-830 nm; ErrRange outside 4000-25000 K.
func Daylight(t colorcalc.Kelvin, g Grid) (Spectrum, error) {
	c, err := colorcalc.Daylight(t)
	if err != nil {
		return Spectrum{}, err
	}
	m1, m2 := colorcalc.DaylightFactors(c)
	m := cie.Daylight()
	comp := func(k int) Spectrum { return Spectrum{m.StartNM, m.StepNM, m.Columns[k]} }
	s0, s1, s2 := comp(0), comp(1), comp(2)
	return g.On(func(nm float64) float64 { return s0.At(nm) + m1*s1.At(nm) + m2*s2.At(nm) }), nil
}

// Gaussian is a line like that of an LED: 1 at the peak, half of it at
// peak +- fwhm/2.
func Gaussian(peakNM, fwhmNM float64, g Grid) Spectrum {
	return g.On(func(nm float64) float64 {
		z := (nm - peakNM) / (fwhmNM * fwhmToSigma)
		return math.Exp(-z * z / 2)
	})
}

// Phosphor is a broad band, log-normal over wavelength: 1 at the peak and
// about fwhm wide (met to first order of fwhm/peak).
func Phosphor(peakNM, fwhmNM float64, g Grid) Spectrum {
	return g.On(func(nm float64) float64 {
		z := math.Log(nm/peakNM) * peakNM / (fwhmNM * fwhmToSigma)
		return math.Exp(-z * z / 2)
	})
}

// WhiteLED is a pump line of height leak over a phosphor band of height 1.
func WhiteLED(pumpNM, pumpFWHM, leak, peakNM, fwhmNM float64, g Grid) Spectrum {
	return Gaussian(pumpNM, pumpFWHM, g).Scale(leak).Add(Phosphor(peakNM, fwhmNM, g))
}
