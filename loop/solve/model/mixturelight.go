package model

import (
	"math"

	"trueup/colorcalc"
)

// What a planner asks of a mixture, for a state x under a response law.

// Emitters is the number of emitters; emitter i is driven by channel i.
func (m *Mixture) Emitters() int { return m.n }

// Dimmer is the channel of the master dimmer, -1 = none.
func (m *Mixture) Dimmer() int { return m.dim0 }

// Light is the fraction of its full light that an emitter gives at drive d.
func (m *Mixture) Light(law int, x []float64, d float64) float64 {
	p, _ := response(m.curves[law], d, x[3*m.n+offKappa])
	return p
}

// Drive is the drive at which an emitter gives light fraction p.
func (m *Mixture) Drive(law int, x []float64, p float64) float64 {
	return invResponse(m.curves[law], p, x[3*m.n+offKappa])
}

// DimmerLight is the fraction of light that the dimmer lets through at drive d.
func (m *Mixture) DimmerLight(x []float64, d float64) float64 {
	p, _ := dimmerLight(m.dimmer, d, x[3*m.n+offDim])
	return p
}

// DimmerDrive is the dimmer's drive for light fraction p.
func (m *Mixture) DimmerDrive(x []float64, p float64) float64 {
	return dimmerDrive(m.dimmer, p, x[3*m.n+offDim])
}

// Full is the light of emitter i at full, in model units, under a dimmer that
// lets the fraction dim through.
func (m *Mixture) Full(x []float64, i int, dim float64) colorcalc.XYZ {
	y := dim * math.Exp(x[3*i+2]-m.droop[i]*(x[3*m.n+offWarm]-1))
	return colorcalc.UV{U: x[3*i], V: x[3*i+1]}.XYZ(y)
}

// Background is the light beside the emitters, in model units.
func (m *Mixture) Background(x []float64) colorcalc.XYZ {
	a := x[3*m.n+offAmb:]
	return colorcalc.XYZ{X: a[0], Y: a[1], Z: a[2]}
}

// Scale is the meter's light per model unit.
func (m *Mixture) Scale(x []float64) float64 { return math.Exp(x[3*m.n+offG]) }
