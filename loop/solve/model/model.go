package model

import "trueup/loop/solve/num"

// State is one Gaussian of what is known of a head, under one response law.
type State struct {
	Law  int       // which of the model's laws
	Wide bool      // from the wide prior: the profile is badly wrong
	X    []float64 // mean, N values
	P    []float64 // covariance, N x N row by row
}

// Component is a State of the prior with its weight in the Gaussian sum.
type Component struct {
	State
	Weight float64
	Scale  int // which scatter of units: 0 the usual, 1 a tight batch
}

// Dim is the size of a state and where the states lie that all models have.
type Dim struct {
	N int // states
	B int // B, B+1: additive u'v' offset, what the model can not explain at the present drive
	G int // ln of the scale between model and meter
}

// Model is the law of a kind of mode with what is not known of it.
type Model interface {
	Dim() Dim
	// Predict fills z at drive d and, unless nil, the Jacobian jac = dz/dx, 3 x N
	// row by row.
	Predict(law int, x, d []float64, z *[3]float64, jac []float64)
	// Bound keeps a state where the law means something.
	Bound(x []float64)
	// Elapse adds what dt seconds at drive d do to a state: process noise, and
	// the lamp's own warming.
	Elapse(s *State, dt float64, d []float64)
	// MoveNoise is the variance of u' and v' that a move adds. This is the damping
	// and the trust region of the step.
	MoveNoise(s *State, from, to []float64) num.Cov2
	// Move adds the process noise of a move to a state.
	Move(s *State, from, to []float64)
	// Rest adds what leaving the lamp alone does: a lamp that has forgotten all of
	// its warmth has 1 of it, one that has just been read 0.
	Rest(s *State, forgotten float64)

	// OpenDimmer leaves the exponent of a dimmer without a stated curve to the readings: for a head that a level is asked of. d is the drive
	// that the lamp was last read at; nil: at none.
	OpenDimmer(s *State, d []float64)

	// Prior lists the components of a fresh unit, the profile's own first.
	Prior() []Component
	// Laws is the number of response laws that compete.
	Laws() int
	// Shared is how many leading states the units of a type share.
	Shared() int

	// LawName says in words which law is meant; empty for a law without a name.
	LawName(law int) string
	// Exponent is the learnt ln of the multiplier of the response exponent, and
	// its standard deviation; ok is false for a model without one.
	Exponent(s *State) (ln, sd float64, ok bool)
	// Emitters is how many emitters are driven one by one, emitter i by channel i;
	// 0 for an engine.
	Emitters() int
	// Changed is the emitter whose light a reading changed most, and how much more
	// it gives than the profile says, beside the others (ln); ok is false when
	// none changed to speak of, or the model has no emitters.
	Changed(before, now *State, d []float64) (emitter int, ln float64, ok bool)
}

// New makes the model of a head. The spec must have passed Check.
func New(s *Spec) Model {
	if s.Kind == Emitters {
		return NewMixture(s)
	}
	return NewEngine(s)
}

// blanks gives up to so many states of n numbers, all zero, from one piece of memory.
func blanks(n, most int) func() State {
	all := make([]float64, most*(n+n*n))
	return func() State {
		s := State{X: all[:n:n], P: all[n : n+n*n : n+n*n]}
		all = all[n+n*n:]
		return s
	}
}
