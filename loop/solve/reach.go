package solve

import (
	"fmt"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/plan"
)

// Region is what a head reaches.
type Region = plan.Region

// lineSlack is the part of the tolerance that a colour may lie beside the line of a head that has
// no second parameter: it lands there still.
const lineSlack = 0.5

// Reach is what a head reaches by the likeliest of what is known of it; prior nil: by its
// profile. tol is the tolerance of a match. An error says that the prior is of another head.
func Reach(spec Spec, prior *Prior, tol float64) (Region, error) {
	if err := spec.Check(); err != nil {
		return Region{}, err
	}
	sum := estimate.NewSum(model.New(&spec), nil)
	if prior != nil {
		if err := sum.Adopt(prior, spec.Kind); err != nil {
			return Region{}, err
		}
	}
	lead := sum.Lead()
	r := Region{Outline: plan.Outline(&spec, lead.Law, lead.X)}
	if len(r.Outline) < 3 || spec.Kind == CCT && spec.CCT.Tint < 0 {
		r.Slack = lineSlack * tol
	}
	if len(r.Outline) < 2 {
		return r, fmt.Errorf("%s: it has one colour alone", spec.Name)
	}
	return r, nil
}
