package model

import (
	"math"

	"trueup/profiles/law"
)

// Engine is a head whose own computer mixes the colour from two parameters, or
// one: the ideal law of the mode with a learnt correction. The law itself is an
// engineLaw; what all of them share is here.
//
// State: the correction states of the law (n); then g (ln of meter per model),
// offset b (2), kd (the part by which the dimmer's exponent is more than stated).
type Engine struct {
	spec     *Spec
	law      engineLaw
	channels []int // of the parameters, one or two
	dim0     int   // channel of the dimmer, -1 = none
	dimmer   law.Curve
	lo, hi   [2]float64 // of the parameters
	n        int        // states of the law
	steps    []float64  // of the differences that make the Jacobian, for each of them
}

// engineExtra is the number of states beside the law's own.
const engineExtra = 4

// engineLaw is the ideal law of a mode and its correction states. Drives a and
// b are fractions of the scales.
type engineLaw interface {
	states() int
	channels() []int // one or two
	// at gives u'v' in a variant of the law.
	at(variant int, x []float64, a, b float64) (u, v float64)
	mean() []float64
	sd(wide bool) []float64
	bound(x []float64)
	variants() int
	// shared is how many leading states units of a type share.
	shared() int
	// asked is the unclamped ideal: how far a move goes on the scales.
	asked(a, b float64) (u, v float64)
	// bend is the move noise of a move to there, as a part of the way.
	bend(a, b float64) float64
	// detents lists the drives of the first parameter that are worth sending, for
	// a scale in steps within lo..hi; nil for a scale without steps.
	detents(lo, hi float64) []float64
	// narrow takes off the ends of the scales what no engine should be asked for.
	narrow(lo, hi *[2]float64)
}

// NewEngine makes the model of a head that is driven by its colour.
func NewEngine(s *Spec) *Engine {
	m := &Engine{spec: s, dim0: -1}
	switch s.Kind {
	case XY:
		m.law = newXYLaw(s)
	case HueSat:
		m.law = newHueSatLaw(s)
	default:
		m.law = newCCTLaw(s)
	}
	m.n, m.channels = m.law.states(), m.law.channels()
	for _, sd := range m.law.sd(false) {
		m.steps = append(m.steps, sd/stepPart)
	}
	for k, c := range m.channels {
		m.lo[k], m.hi[k] = s.Drive(c, s.Channels[c].Lo), s.Drive(c, s.Channels[c].Hi)
	}
	m.law.narrow(&m.lo, &m.hi)
	if s.Dimmer != nil {
		m.dim0, m.dimmer = s.Dimmer.Channel, s.Dimmer.Level.Curve
	}
	return m
}

// Dim says where the common states lie.
func (m *Engine) Dim() Dim { return Dim{N: m.n + engineExtra, B: m.n + 1, G: m.n} }

// Laws is the number of variants of the law that compete.
func (m *Engine) Laws() int { return m.law.variants() }

// Shared is the correction of the law, without what belongs to one unit.
func (m *Engine) Shared() int { return m.law.shared() }

// pair is the two parameters of a drive; the second is 0 where there is none.
func (m *Engine) pair(d []float64) (a, b float64) {
	if len(m.channels) > 1 {
		b = d[m.channels[1]]
	}
	return d[m.channels[0]], b
}

// Colour is the u'v' of the law at drive d, without the local offset.
func (m *Engine) Colour(variant int, x, d []float64) (u, v float64) {
	a, b := m.pair(d)
	return m.law.at(variant, x, a, b)
}

// Asked is the u'v' that the scales ask for at drive d.
func (m *Engine) Asked(d []float64) (u, v float64) { return m.law.asked(m.pair(d)) }

// Predict is the law with the local offset, and the level behind the dimmer.
func (m *Engine) Predict(law int, x, d []float64, z *[3]float64, jac []float64) {
	n := m.n
	u, w := m.Colour(law, x, d)
	f, df := 1.0, 0.0
	if m.dim0 >= 0 {
		f, df = dimmerLight(m.dimmer, d[m.dim0], x[n+3])
	}
	z[0], z[1], z[2] = u+x[n+1], w+x[n+2], x[n]+math.Log(max(f, leastDim))
	if jac == nil {
		return
	}
	clear(jac)
	N := n + engineExtra
	for i := range n { // central differences: the laws are smooth and cheap
		was, h := x[i], m.steps[i]
		x[i] = was + h
		a, b := m.Colour(law, x, d)
		x[i] = was - h
		c, e := m.Colour(law, x, d)
		x[i] = was
		jac[i], jac[N+i] = (a-c)/(2*h), (b-e)/(2*h)
	}
	jac[n+1], jac[N+n+2], jac[2*N+n], jac[2*N+n+3] = 1, 1, 1, df
}

// Bound keeps the law's states and the dimmer's exponent where they mean
// something.
func (m *Engine) Bound(x []float64) {
	m.law.bound(x[:m.n])
	within(&x[m.n+3], boundDim)
}
