package core

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Prediction is a setting that a learnt model gives for a colour. No reading stands behind it.
type Prediction struct {
	Codes solve.Drive
	UV    colorcalc.UV // where the light is predicted
	SD    float64      // of UV, per axis, so far from what was read
	Off   float64      // of UV from the colour asked for, u'v'; large: out of reach
	Lux   float64      // predicted level; 0 = not known
}

// Predict gives a setting for a colour by what the run has learnt of a fixture. An error says
// that nothing was learnt of it, or that there is no setting.
func (c *Core) Predict(fixture string, uv colorcalc.UV) (Prediction, error) {
	u := c.find(fixture)
	if u == nil || !c.ours(u) {
		return Prediction{}, fmt.Errorf("%s is no fixture that this run set", fixture)
	}
	if u.prior == nil || u.tally.kept == 0 {
		return Prediction{}, fmt.Errorf("%s: nothing was learnt of it", fixture)
	}
	return c.predict(u, u.prior, uv)
}

func (c *Core) predict(u *unit, prior *solve.Prior, uv colorcalc.UV) (Prediction, error) {
	fixture := u.Info.Name
	opt := solve.DefaultOptions()
	opt.SigmaUV, opt.SigmaLnY, opt.Level = c.noiseAt(u.Info.Probe).sigmaUV(), c.noiseAt(u.Info.Probe).sigmaLnY(), u.Level
	opt.Wish, opt.Likeness = c.spendOn(u)
	if prior != nil {
		own := *prior
		prior = &own
	}
	m, err := solve.New(u.Spec, solve.Target{UV: uv, Tol: c.cfg.Plan.Tolerance}, prior, opt)
	if err != nil {
		return Prediction{}, fmt.Errorf("%s: %w", fixture, err)
	}
	d := m.Next(0)
	if d.Action != solve.Move || math.IsNaN(d.PredictedSD) {
		return Prediction{}, fmt.Errorf("%s: no setting: %s", fixture, d.Reason)
	}
	return Prediction{Codes: d.Drive, UV: d.Predicted, SD: m.FarSD(d.Drive, d.Predicted), Off: d.Predicted.Dist(uv), Lux: d.PredictedY}, nil
}
