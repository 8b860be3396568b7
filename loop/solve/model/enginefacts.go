package model

import "math"

// Channels are the channels of the parameters, one or two.
func (m *Engine) Channels() []int { return m.channels }

// Dimmer is the channel of the master dimmer, -1 = none.
func (m *Engine) Dimmer() int { return m.dim0 }

// At gives the u'v' of the law at drives a and b, without the local offset.
func (m *Engine) At(variant int, x []float64, a, b float64) (u, v float64) {
	return m.law.at(variant, x, a, b)
}

// DimmerDrive is the dimmer's drive for a level as the meter has it.
func (m *Engine) DimmerDrive(x []float64, level float64) float64 {
	return dimmerDrive(m.dimmer, min(level/math.Exp(x[m.n]), 1), x[m.n+3])
}

// Detents lists the drives in the middle of the steps of a scale in steps,
// within lo..hi; nil for a scale without steps.
func (m *Engine) Detents(lo, hi float64) []float64 { return m.law.detents(lo, hi) }

// Box is the allowed range of the parameters, as fractions of their scales.
func (m *Engine) Box() (lo, hi [2]float64) { return m.lo, m.hi }

// LawName is empty: the variants of an engine's law have no names.
func (m *Engine) LawName(int) string { return "" }

// Exponent is none: what bends in an engine bends the colour.
func (m *Engine) Exponent(*State) (ln, sd float64, ok bool) { return 0, 0, false }

// Emitters is none: the engine drives them.
func (m *Engine) Emitters() int { return 0 }

// Changed is no emitter: nobody sees them singly.
func (m *Engine) Changed(_, _ *State, _ []float64) (emitter int, ln float64, ok bool) {
	return 0, 0, false
}
