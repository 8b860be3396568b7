package model

import (
	"math"

	"trueup/loop/solve/num"
	"trueup/profiles/law"
)

// Mixture is a head with one channel per emitter. The light is the sum of
// the emitters' tristimulus values and the background (Grassmann), each emitter
// scaled by its response to the drive.
//
// State, for N emitters: u'_i, v'_i, ln Y_i at 3i..3i+2 (warm and at full);
// then kappa (ln of a common multiplier of the response exponent), g (ln of
// meter per model), background X, Y, Z in model units, offset b (2), warmth t
// (0 = cold, 1 = warm at full), kd (the part by which the dimmer's exponent is more than stated). A model unit is the
// nominal light of all emitters at full.
type Mixture struct {
	spec   *Spec
	n      int // emitters
	curves []law.Curve
	droop  []float64 // ln of light lost from cold to warm
	dim0   int       // channel of the dimmer, -1 = none
	dimmer law.Curve
	tau    float64 // seconds of the warming, nominal
}

const (
	offKappa = iota
	offG
	offAmb
	_
	_
	offB
	_
	offWarm
	offDim
	extraStates

	// MaxStates bounds the state of the largest model.
	MaxStates = 3*MaxEmitters + extraStates
)

// Dim says where the common states lie.
func (m *Mixture) Dim() Dim {
	return Dim{N: 3*m.n + extraStates, B: 3*m.n + offB, G: 3*m.n + offG}
}

// Laws is the number of response laws that compete.
func (m *Mixture) Laws() int { return len(m.curves) }

// Shared is the states of the emitters and their common exponent. Background,
// scale, offset and warmth belong to one unit and one place.
func (m *Mixture) Shared() int { return 3*m.n + 1 }

// Predict mixes the light: X, Y, Z of the emitters and the background add.
func (m *Mixture) Predict(law int, x, d []float64, z *[3]float64, jac []float64) {
	n, nb := m.n, 3*m.n
	kappa, warm := x[nb+offKappa], x[nb+offWarm]
	dim, ddim := 1.0, 0.0
	if m.dim0 >= 0 {
		dim, ddim = dimmerLight(m.dimmer, d[m.dim0], x[nb+offDim])
	}
	X, Y, Z := x[nb+offAmb], x[nb+offAmb+1], x[nb+offAmb+2]
	var ds, ys, dl [MaxEmitters]float64 // X+15Y+3Z and Y of each emitter
	for i := range n {
		p, dln := response(m.curves[law], d[i], kappa)
		u, v := x[3*i], x[3*i+1]
		yi := p * dim * math.Exp(x[3*i+2]-m.droop[i]*(warm-1))
		di := 9 * yi / v
		ds[i], ys[i], dl[i] = di, yi, dln
		X += u * di / 4
		Y += yi
		Z += (di - u*di/4 - 15*yi) / 3
	}
	D := X + 15*Y + 3*Z
	if !(D > leastLight) || !(Y > leastLight) {
		D, Y = max(D, leastLight), max(Y, leastLight)
	}
	u, v := 4*X/D, 9*Y/D
	z[0] = u + x[nb+offB]
	z[1] = v + x[nb+offB+1]
	z[2] = math.Log(Y) + x[nb+offG]
	if jac == nil {
		return
	}
	N := nb + extraStates
	clear(jac)
	j0, j1, j2 := jac[:N], jac[N:2*N], jac[2*N:3*N]
	for i := range n {
		w := ds[i] / D
		ui, vi := x[3*i], x[3*i+1]
		lu, lv, ly := w*(ui-u), w*(vi-v), ys[i]/Y
		j0[3*i] = w
		j0[3*i+1] = w * (u - ui) / vi
		j1[3*i+1] = w * v / vi
		j0[3*i+2], j1[3*i+2], j2[3*i+2] = lu, lv, ly
		j0[nb+offKappa] += dl[i] * lu
		j1[nb+offKappa] += dl[i] * lv
		j2[nb+offKappa] += dl[i] * ly
		j0[nb+offWarm] -= m.droop[i] * lu
		j1[nb+offWarm] -= m.droop[i] * lv
		j2[nb+offWarm] -= m.droop[i] * ly
		j0[nb+offDim] += ddim * lu
		j1[nb+offDim] += ddim * lv
		j2[nb+offDim] += ddim * ly
	}
	a := nb + offAmb
	j0[a], j1[a] = (4-u)/D, -v/D
	j0[a+1], j1[a+1], j2[a+1] = -15*u/D, (9-15*v)/D, 1/Y
	j0[a+2], j1[a+2] = -3*u/D, -3*v/D
	j0[nb+offB], j1[nb+offB+1], j2[nb+offG] = 1, 1, 1
}

// MaxEmitters bounds the scratch space: more emitters than any lamp has today.
const MaxEmitters = 16

// Bound keeps colours, light and exponents where they mean something.
func (m *Mixture) Bound(x []float64) {
	nb := 3 * m.n
	for i := range m.n {
		within(&x[3*i], boundU)
		within(&x[3*i+1], boundV)
		within(&x[3*i+2], boundLn)
	}
	within(&x[nb+offKappa], boundExponent)
	within(&x[nb+offDim], boundDim)
	for k := range 3 {
		within(&x[nb+offAmb+k], boundAmb)
	}
	within(&x[nb+offWarm], boundWarm)
}

func within(x *float64, b [2]float64) { *x = num.Clamp(*x, b[0], b[1]) }
