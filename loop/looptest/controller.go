package looptest

import (
	"time"

	"trueup/loop/solve"
)

// Controller is what is judged: the loop's own estimate, or one of the usual
// methods in the same clothes.
type Controller interface {
	Next(at time.Duration) solve.Decision
	Observe(solve.Reading) solve.Account
}

// Method makes a controller for a case from what a tool may know of it.
type Method struct {
	Name string
	New  func(spec solve.Spec, t solve.Target, o solve.Options) (Controller, error)
}

// Ours is the loop's own estimate and stopping rule, with no prior knowledge of
// the unit.
func Ours() Method {
	return Method{"trueup", func(s solve.Spec, t solve.Target, o solve.Options) (Controller, error) {
		return solve.New(s, t, nil, o)
	}}
}
