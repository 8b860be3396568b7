package solve

import (
	"fmt"
	"math"

	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
)

// EmitterNow is what is known of one emitter of a head, warm and at full.
type EmitterNow struct {
	Name       string
	U, V, SDUV float64 // u'v', and the larger standard deviation of both axes
	LnFlux, SD float64 // ln of its light as its probe saw it, and standard deviation; comparable where the probe lay the same
	LnShare    float64 // ln of its light beside the geometric mean of all emitters of the head: that holds at any probe
	ShareSD    float64
}

// EmittersNow tells the emitters of a head by the likeliest of what is known; nil for a head that is driven by
// its colour.
func EmittersNow(spec Spec, prior *Prior) ([]EmitterNow, error) {
	if spec.Kind != Emitters || prior == nil {
		return nil, nil
	}
	if err := spec.Check(); err != nil {
		return nil, err
	}
	m := model.NewMixture(&spec)
	sum := estimate.NewSum(m, nil)
	if err := sum.Adopt(prior, spec.Kind); err != nil {
		return nil, fmt.Errorf("%s: %w", spec.Name, err)
	}
	lead := sum.Lead()
	n, g, dim := m.Emitters(), m.Dim().G, m.Dim().N
	x, p := lead.X, lead.P
	v := func(i, j int) float64 { return p[i*dim+j] }
	mean := 0.0
	for i := range n {
		mean += x[3*i+2] / float64(n)
	}
	var out []EmitterNow
	for i := range n {
		k := 3*i + 2
		e := EmitterNow{Name: spec.Emitters[i].Name, U: x[3*i], V: x[3*i+1], SDUV: math.Sqrt(max(v(3*i, 3*i), v(3*i+1, 3*i+1))),
			LnFlux: x[k] + x[g], SD: math.Sqrt(max(0, v(k, k)+v(g, g)+2*v(k, g))), LnShare: x[k] - mean}
		// Variance of x_k less the mean of all: of the sum of w_j x_j, w_k = 1 - 1/n, others -1/n.
		var s float64
		for a := range n {
			for b := range n {
				wa, wb := -1/float64(n), -1/float64(n)
				if a == i {
					wa++
				}
				if b == i {
					wb++
				}
				s += wa * wb * v(3*a+2, 3*b+2)
			}
		}
		e.ShareSD = math.Sqrt(max(0, s))
		out = append(out, e)
	}
	return out, nil
}
