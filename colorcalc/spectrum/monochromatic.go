package spectrum

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
)

// Monochromatic gives the 2-degree chromaticity of light of one wavelength:
// the spectral locus (ISO 11664-1, functions interpolated linearly). Valid for
// 360-830 nm, else ErrRange.
func Monochromatic(nm float64) (colorcalc.XY, error) {
	m := cie.CMF2()
	p := nm - m.StartNM
	if !(p >= 0 && p <= float64(m.Len()-1)) {
		return colorcalc.XY{}, fmt.Errorf("wavelength %v nm: %w, want 360 to 830", nm, colorcalc.ErrRange)
	}
	at := func(k int) float64 { return Spectrum{m.StartNM, m.StepNM, m.Columns[k]}.At(nm) }
	return colorcalc.XYZ{X: at(0), Y: at(1), Z: at(2)}.XY(), nil
}
