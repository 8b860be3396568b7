package gel

import (
	"math"

	"trueup/colorcalc/spectrum"
)

// The generic series stands for no product. Conversion filters are ideal ones:
// by Wien's law a transmittance of exp(-c2 M/lambda) shifts every black body
// by M mired. Green filters hold light back in thirds of the spectrum, as
// compensating filters do by their nominal density: CC30 for "full".
const (
	fullMired  = 131 // 5500 K to 3200 K
	fullCC     = 30
	clearBase  = 0.9 // the foil itself
	blueEdge   = 500.0
	redEdge    = 600.0
	edgeWidth  = 15.0 // nm over which a dye turns from clear to dense
	nominalTop = 700.0
)

var nominalGrid = spectrum.Grid{StartNM: 380, StepNM: 5, N: 81}

// Nominal gives the generic series: full, 1/2, 1/4 and 1/8 of warm, cool, plus
// green and minus green. Every one is marked nominal.
func Nominal() []Gel {
	var out []Gel
	for _, kind := range []struct {
		name string
		make func(part float64) spectrum.Spectrum
	}{
		{"warm", func(p float64) spectrum.Spectrum { return conversion(fullMired * p) }},
		{"cool", func(p float64) spectrum.Spectrum { return conversion(-fullMired * p) }},
		{"plus green", func(p float64) spectrum.Spectrum { return compensating(fullCC*p, true) }},
		{"minus green", func(p float64) spectrum.Spectrum { return compensating(fullCC*p, false) }},
	} {
		for _, part := range []struct {
			name string
			of   float64
		}{{"full", 1}, {"1/2", 0.5}, {"1/4", 0.25}, {"1/8", 0.125}} {
			s := kind.make(part.of)
			out = append(out, Gel{Name: part.name + " " + kind.name, Spectrum: &s, Nominal: true})
		}
	}
	return out
}

// conversion is Wien's ideal filter, scaled to clearBase where it passes most
// within 400-700 nm.
func conversion(mired float64) spectrum.Spectrum {
	density := func(nm float64) float64 { return spectrum.C2 * mired * 1e-6 / nm }
	best := min(density(400), density(nominalTop))
	return nominalGrid.On(func(nm float64) float64 { return min(clearBase*math.Exp(best-density(nm)), 1) })
}

// compensating holds back the thirds of blue and red (plus green) or the third
// of green (minus green) by a density of cc/100.
func compensating(cc float64, plusGreen bool) spectrum.Spectrum {
	step := func(nm, edge float64) float64 { return 1 / (1 + math.Exp(-(nm-edge)/(edgeWidth/4))) }
	return nominalGrid.On(func(nm float64) float64 {
		green := step(nm, blueEdge) - step(nm, redEdge)
		if plusGreen {
			green = 1 - green
		}
		return clearBase * math.Pow(10, -cc/100*green)
	})
}
