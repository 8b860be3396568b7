package solve

import (
	"errors"
	"fmt"
	"math"

	"trueup/loop/solve/model"
)

// fill sets what is left to the defaults and checks a target.
func (t *Target) fill() error {
	if t.Tol == 0 {
		t.Tol = defaultTol
	}
	if t.TolY == 0 {
		t.TolY = defaultTolY
	}
	if !model.Light(t.UV) {
		return fmt.Errorf("target u'v' (%g, %g) is no chromaticity", t.UV.U, t.UV.V)
	}
	if !(t.Tol > 0 && t.Tol < mostTol) || !(t.SigmaUV >= 0 && t.SigmaUV < mostSigmaUV) {
		return fmt.Errorf("tolerance %g and uncertainty %g of the target must be positive and below 0.1", t.Tol, t.SigmaUV)
	}
	if !(t.Y >= 0) || math.IsInf(t.Y, 0) || !(t.TolY > 0 && t.TolY < 1) {
		return fmt.Errorf("level %g with tolerance %g can not be reached", t.Y, t.TolY)
	}
	return nil
}

// filled checks options; zero fields take the defaults.
func (o Options) filled() (Options, error) {
	d := DefaultOptions()
	for _, f := range []struct {
		v   *float64
		def float64
	}{{&o.Confidence, d.Confidence}, {&o.Level, d.Level}, {&o.SigmaUV, d.SigmaUV}, {&o.SigmaLnY, d.SigmaLnY}} {
		if *f.v == 0 {
			*f.v = f.def
		}
	}
	if o.Budget == 0 {
		o.Budget = d.Budget
	}
	if o.Sample == 0 {
		o.Sample = d.Sample
	}
	switch {
	case !(o.Confidence >= leastConfidence && o.Confidence < 1):
		return o, fmt.Errorf("confidence %g must lie between %g and 1", o.Confidence, leastConfidence)
	case !(o.Sure >= 0 && o.Sure < 1) || o.Earlier < 0:
		return o, fmt.Errorf("a first confidence of %g and %d earlier readings are not usable", o.Sure, o.Earlier)
	case !(o.LastStep >= 0 && o.LastStep < 1):
		return o, fmt.Errorf("a chance of %g after a last step is not usable", o.LastStep)
	case !(o.Level > 0 && o.Level <= 1):
		return o, fmt.Errorf("level %g must lie above 0 and up to 1", o.Level)
	case !(o.SigmaUV > 0 && o.SigmaUV < mostSigmaUV) || !(o.SigmaLnY > 0 && o.SigmaLnY < mostSigmaLn):
		return o, fmt.Errorf("meter noise %g, %g is not usable", o.SigmaUV, o.SigmaLnY)
	case o.Budget < 1 || o.Sample < 0 || o.Settle < 0:
		return o, errors.New("budget and times must be positive")
	}
	return o, nil
}
