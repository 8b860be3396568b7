package core

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Knows tells whether a run has read a fixture, so that what it says of it rests on more than its profile.
func (c *Core) Knows(fixture string) bool {
	u := c.find(fixture)
	return u != nil && u.prior != nil && u.tally.kept > 0
}

// known is the best that is known of a unit: of itself, else of its sisters; nil: the profile alone.
func (c *Core) known(u *unit) (*solve.Prior, error) {
	if u.prior != nil {
		return u.prior, nil
	}
	if b := c.cfg.Batches[u.Type]; u.Type == "" || b == nil || b.Units == 0 {
		return nil, nil
	}
	return c.batchPrior(u)
}

// Reach is what a fixture reaches, by the best that is known of it. It is predicted.
func (c *Core) Reach(fixture string) (solve.Region, error) {
	u := c.find(fixture)
	if u == nil || !c.ours(u) {
		return solve.Region{}, fmt.Errorf("%s is no fixture that this run sets", fixture)
	}
	prior, err := c.known(u)
	if err != nil {
		return solve.Region{}, err
	}
	return solve.Reach(u.Spec, prior, c.cfg.Plan.Tolerance)
}

// Foresee is Predict by the best that is known, were it the profile alone.
func (c *Core) Foresee(fixture string, uv colorcalc.UV) (Prediction, error) {
	u := c.find(fixture)
	if u == nil || !c.ours(u) {
		return Prediction{}, fmt.Errorf("%s is no fixture that this run sets", fixture)
	}
	prior, err := c.known(u)
	if err != nil {
		return Prediction{}, err
	}
	return c.predict(u, prior, uv)
}

// MostLux is the most that a fixture may give at a prediction without meeting its cap, with the
// headroom of a common level; 0 where no level is known.
func (c *Core) MostLux(fixture string, p Prediction) float64 {
	if u := c.find(fixture); u != nil {
		return commonHeadroom * p.Lux * u.Headroom
	}
	return 0
}

// TypeOf is the type of a fixture, Unit.Type; "" for none.
func (c *Core) TypeOf(fixture string) string {
	if u := c.find(fixture); u != nil {
		return u.Type
	}
	return ""
}

// PriorOf is what the run has learnt of a fixture itself; nil: nothing. The caller must not change it.
func (c *Core) PriorOf(fixture string) *solve.Prior {
	if u := c.find(fixture); u != nil {
		return u.prior
	}
	return nil
}
