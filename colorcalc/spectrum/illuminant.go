package spectrum

import "trueup/colorcalc/internal/cie"

// Illuminant gives a tabulated illuminant by its CIE name, letter case aside:
// A, D50, D55, D65, D75 (300-830 nm), FL1-FL12, LED-B1..LED-V2 (380-780 nm);
// 5 nm, relative power (CIE 15:2018). ok is false for other names.
func Illuminant(name string) (s Spectrum, ok bool) {
	for _, t := range cie.Illuminants() {
		if c := t.Column(name); c != nil {
			return Spectrum{t.StartNM, t.StepNM, append([]float64(nil), c...)}, true
		}
	}
	return Spectrum{}, false
}

// Illuminants lists the names that Illuminant knows, in the order of CIE 15.
func Illuminants() []string {
	var names []string
	for _, t := range cie.Illuminants() {
		names = append(names, t.Names...)
	}
	return names
}
