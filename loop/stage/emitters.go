package stage

import (
	"maps"
	"slices"
)

// Nominal gives the emitter that a trade name stands for. Peaks and widths are
// the middle of ordinary bins; fluxes are relative to a white emitter at 1.
// AlInGaP (red, amber) loses about three times as much with heat as InGaN.
func Nominal(name string) (Emitter, bool) {
	e, ok := nominal[name]
	if ok {
		e.Name = name
		if e.Watts == 0 {
			e.Watts = 1
		}
	}
	return e, ok
}

var nominal = map[string]Emitter{
	"red":           {Form: LED, Peak: 630, FWHM: 17, Tail: 0.12, Flux: 0.34, Droop: 0.0036, Drift: 0.10},
	"deep red":      {Form: LED, Peak: 660, FWHM: 20, Tail: 0.12, Flux: 0.10, Droop: 0.0030, Drift: 0.12},
	"amber":         {Form: LED, Peak: 594, FWHM: 17, Tail: 0.10, Flux: 0.30, Droop: 0.0060, Drift: 0.09},
	"pc amber":      {Form: Phosphor, Peak: 450, FWHM: 20, Tail: 0.1, Leak: 0.01, Bands: []Band{{598, 80, 1}}, Flux: 0.62, Droop: 0.0018, Drift: 0.04},
	"lime":          {Form: Phosphor, Peak: 448, FWHM: 20, Tail: 0.1, Leak: 0.035, Bands: []Band{{552, 105, 1}}, Flux: 1.25, Droop: 0.0014, Drift: 0.04},
	"mint":          {Form: Phosphor, Peak: 450, FWHM: 21, Tail: 0.1, Leak: 0.20, Bands: []Band{{532, 98, 1}}, Flux: 1.15, Droop: 0.0014, Drift: 0.04},
	"green":         {Form: LED, Peak: 523, FWHM: 33, Tail: 0.15, Flux: 0.75, Droop: 0.0014, Drift: 0.03},
	"cyan":          {Form: LED, Peak: 498, FWHM: 30, Tail: 0.15, Flux: 0.50, Droop: 0.0014, Drift: 0.035},
	"blue":          {Form: LED, Peak: 462, FWHM: 23, Tail: 0.12, Flux: 0.13, Droop: 0.0011, Drift: 0.04},
	"indigo":        {Form: LED, Peak: 446, FWHM: 20, Tail: 0.12, Flux: 0.05, Droop: 0.0010, Drift: 0.04},
	"violet":        {Form: LED, Peak: 410, FWHM: 15, Tail: 0.10, Flux: 0.006, Droop: 0.0009, Drift: 0.04},
	"white":         {Form: Phosphor, Peak: 451, FWHM: 21, Tail: 0.1, Leak: 0.36, Bands: []Band{{557, 116, 1}, {624, 93, 0.15}}, Flux: 1, Droop: 0.0016, Drift: 0.04},
	"cool white":    {Form: Phosphor, Peak: 450, FWHM: 21, Tail: 0.1, Leak: 0.50, Bands: []Band{{552, 116, 1}, {622, 93, 0.13}}, Flux: 1, Droop: 0.0015, Drift: 0.04},
	"neutral white": {Form: Phosphor, Peak: 451, FWHM: 21, Tail: 0.1, Leak: 0.25, Bands: []Band{{559, 116, 1}, {624, 93, 0.42}}, Flux: 0.95, Droop: 0.0017, Drift: 0.04},
	"warm white":    {Form: Phosphor, Peak: 452, FWHM: 21, Tail: 0.1, Leak: 0.12, Bands: []Band{{565, 114, 1}, {624, 92, 1.05}}, Flux: 0.86, Droop: 0.0019, Drift: 0.04},
	"filament":      {Form: Filament, Kelvin: 3200, Flux: 1},
	// A metal-halide lamp that has lost some of its green: lines of mercury,
	// sodium, thallium and the rare earths' bands over their continuum.
	"old arc": {Form: Arc, Kelvin: 4480, Flux: 1, Lines: []Line{
		{405, 9, 0.20}, {436, 9, 0.44}, {475, 40, 0.10}, {546, 10, 0.42}, {578, 12, 0.36}, {589, 14, 0.28}, {610, 22, 0.20}, {670, 26, 0.16}}},
}

// NominalNames lists the trade names that Nominal knows, in order.
func NominalNames() []string { return slices.Sorted(maps.Keys(nominal)) }

// emittersCalled gives nominal emitters by trade name.
func emittersCalled(names ...string) []Emitter {
	var out []Emitter
	for _, n := range names {
		if e, ok := Nominal(n); ok {
			out = append(out, e)
		}
	}
	return out
}
