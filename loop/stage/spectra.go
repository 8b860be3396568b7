package stage

import "math"

// Form is the physical kind of an emitter.
type Form int

// Forms of emitters.
const (
	LED      Form = iota // one semiconductor line with a tail to the red
	Phosphor             // a pump LED that leaks through one or two phosphor bands
	Filament             // a black body behind glass: Planck's law
	Arc                  // discharge: a few broadened lines over a continuum
)

// Band is one phosphor band: log-normal over wavelength, as a broad emission
// that is roughly Gaussian over photon energy looks. Weight is radiant power
// relative to the first band.
type Band struct{ Peak, FWHM, Weight float64 }

// Line is one line of a discharge with its width at working pressure and its
// height relative to the continuum's.
type Line struct{ Peak, FWHM, Height float64 }

// shape is the spectrum of one emitter of one unit at one temperature.
type shape struct {
	form   Form
	peak   float64 // nm; LED: peak, Phosphor: peak of the pump
	fwhm   float64 // nm
	tail   float64 // 0..1, share of the slow tail on the long side
	leak   float64 // Phosphor: pump power that leaks through, relative to the bands
	bands  []Band
	shift  float64 // nm, added to the peak of every band
	kelvin float64 // Filament and Arc: temperature of the continuum
	lines  []Line
	lineK  float64 // Arc: strength of the lines, 1 nominal
}

// spd fills the spectral power distribution on the grid, in arbitrary units.
func (s *shape) spd(dst *[gridN]float64) {
	for i := range dst {
		nm := float64(gridFrom + i*gridStep)
		switch s.form {
		case LED:
			dst[i] = ledLine(nm, s.peak, s.fwhm, s.tail)
		case Phosphor:
			v := s.leak * ledLine(nm, s.peak, s.fwhm, s.tail) / s.fwhm
			for _, b := range s.bands {
				v += b.Weight * logNormal(nm, b.Peak+s.shift, b.FWHM) / b.FWHM
			}
			dst[i] = v
		case Filament:
			dst[i] = planck(nm, s.kelvin)
		case Arc:
			v := planck(nm, s.kelvin)
			for _, l := range s.lines {
				z := (nm - l.Peak) / (l.FWHM * fwhmToSigma)
				v += s.lineK * l.Height * math.Exp(-z*z/2)
			}
			dst[i] = v
		}
	}
}

// ledLine is 1 at the peak. The short side is Gaussian; on the long side a
// share falls off exponentially, as measured LED lines do (their long side is
// set by the thermal tail of the carriers).
func ledLine(nm, peak, fwhm, tail float64) float64 {
	z := (nm - peak) / (fwhm * fwhmToSigma)
	g := math.Exp(-z * z / 2)
	if z <= 0 || tail == 0 {
		return g
	}
	return (1-tail)*g + tail*math.Exp(-z)
}

// logNormal is 1 at the peak; fwhm is met to first order of fwhm/peak.
func logNormal(nm, peak, fwhm float64) float64 {
	z := math.Log(nm/peak) * peak / (fwhm * fwhmToSigma)
	return math.Exp(-z * z / 2)
}

// planck is Planck's law relative to its value at 560 nm (CIE 15:2018 clause
// 4.1, c2 = 1.4388e-2 m K).
func planck(nm, kelvin float64) float64 {
	const c2 = 1.4388e7 // nm K
	if !(kelvin > 0) {
		return 0
	}
	return math.Pow(560/nm, 5) * math.Expm1(c2/(560*kelvin)) / math.Expm1(c2/(nm*kelvin))
}
