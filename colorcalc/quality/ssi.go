package quality

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// ssiGrid is the range of SMPTE ST 2122: 375-675 nm at 1 nm.
var ssiGrid = spectrum.Grid{StartNM: 375, StepNM: 1, N: 301}

const ssiBins = 30

// ssiWeights by bin, 380 to 670 nm (SMPTE ST 2122).
var ssiWeights = func() (w [ssiBins]float64) {
	for i := range w {
		w[i] = 1
	}
	for i, v := range []float64{12, 22, 32, 40, 44} {
		w[i] = v / 45
	}
	w[28], w[29] = 11.0/15, 3.0/15
	return w
}()

// SSI is the spectral similarity index of a light to a reference (SMPTE ST
// 2122:2020, Academy S-2018-001): 100 for equal shapes, no less than that
// below zero for bad ones. Levels do not matter. Errors: a broken spectrum, or
// one without power within 375-675 nm. Report it rounded: RoundSSI.
func SSI(test, reference spectrum.Spectrum) (float64, error) {
	t, err := ssiShape(test)
	if err != nil {
		return 0, fmt.Errorf("test light: %w", err)
	}
	r, err := ssiShape(reference)
	if err != nil {
		return 0, fmt.Errorf("reference light: %w", err)
	}
	var d [ssiBins + 2]float64 // with a zero at each end
	for i := range ssiBins {
		d[i+1] = ssiWeights[i] * (t[i] - r[i]) / (r[i] + 1.0/ssiBins)
	}
	sum := 0.0
	for i := 1; i <= ssiBins; i++ {
		v := .22*d[i-1] + .56*d[i] + .22*d[i+1]
		sum += v * v
	}
	return 100 - 32*math.Sqrt(sum), nil
}

// RoundSSI gives the whole number to report, halves up.
func RoundSSI(v float64) int { return int(math.Floor(v + 0.5)) }

// ssiShape gives the share of each bin of 10 nm, by the trapezoid rule.
func ssiShape(s spectrum.Spectrum) (out [ssiBins]float64, err error) {
	if err := s.Check(); err != nil {
		return out, err
	}
	sum := 0.0
	for k := range out {
		for i := 0; i <= 10; i++ {
			v := s.At(ssiGrid.NM(10*k + i))
			if i == 0 || i == 10 {
				v /= 2
			}
			out[k] += v
		}
		sum += out[k]
	}
	if !(sum > 0) {
		return out, spectrum.ErrNoLight
	}
	for k := range out {
		out[k] /= sum
	}
	return out, nil
}

// SSIReference is the reference to take where nobody names one: the test
// light's CCT rounded to 1 K, Planckian below 4000 K, daylight from there to
// 25000 K; ErrNoReference where there is no CCT. The name, such as "P3200" or
// "D5602", belongs to the result: SSI[P3200].
func SSIReference(test spectrum.Spectrum) (ref spectrum.Spectrum, name string, err error) {
	c, err := test.XY()
	if err != nil {
		return ref, "", err
	}
	t, _, err := colorcalc.CCT(c)
	if err != nil {
		return ref, "", fmt.Errorf("%w (%w)", ErrNoReference, err)
	}
	t = colorcalc.Kelvin(math.Round(float64(t)))
	if t < 4000 {
		ref, err = spectrum.Planck(t, ssiGrid)
		return ref, fmt.Sprintf("P%.0f", float64(t)), err
	}
	ref, err = spectrum.Daylight(t, ssiGrid)
	return ref, fmt.Sprintf("D%.0f", float64(t)), err
}
