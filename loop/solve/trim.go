package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/estimate"
	"trueup/loop/solve/model"
	"trueup/loop/solve/plan"
)

// Trimmer moves a matched head by small steps, by what a match learnt of it. It learns nothing itself:
// whoever reads the light says how far it is off.
type Trimmer struct {
	spec    Spec
	model   model.Model
	planner plan.Planner
	law     int
	x       []float64
	top     float64 // ln of the most light, model units
	bottom  float64 // and of the least
}

// mostTrimLight is how much brighter than where it began a trimmed head may become, as a factor: less than
// a careful eye sees.
const mostTrimLight = 1.02

// Codes that are coarse make a head darker by more than its steps would make it brighter: so dark it may become, as a factor, and so
// much of its light one step may take, ln.
const (
	leastTrimLight = 0.95
	mostTrimDim    = 0.0125
)

// NewTrimmer starts from what is known of a head that stands at a drive. headroom is how much brighter
// it may become within its cap, as a factor of at least 1. An error says what does not fit.
func NewTrimmer(spec Spec, prior *Prior, stands Drive, headroom float64) (*Trimmer, error) {
	if err := spec.Check(); err != nil {
		return nil, err
	}
	if len(stands) != len(spec.Channels) {
		return nil, fmt.Errorf("%s: %d codes for %d parameters", spec.Name, len(stands), len(spec.Channels))
	}
	t := &Trimmer{spec: spec}
	if spec.Kind == Emitters {
		mix := model.NewMixture(&t.spec)
		t.model, t.planner = mix, plan.NewTrimming(mix, &t.spec)
	} else {
		e := model.NewEngine(&t.spec)
		t.model, t.planner = e, plan.NewEngine(e, &t.spec)
	}
	sum := estimate.NewSum(t.model, nil)
	if prior != nil {
		if err := sum.Adopt(prior, spec.Kind); err != nil {
			return nil, err
		}
	}
	t.law, t.x = sum.Lead().Law, sum.Lead().X
	_, ln := t.at(t.fractions(stands))
	t.top, t.bottom = ln+math.Log(min(mostTrimLight, max(headroom, 1))), ln+math.Log(leastTrimLight)
	return t, nil
}

func (t *Trimmer) fractions(d Drive) []float64 {
	f := make([]float64, len(d))
	for i, c := range d {
		f[i] = t.spec.Drive(i, c)
	}
	return f
}

// at is the predicted light of a drive: u'v' and ln of its level.
func (t *Trimmer) at(d []float64) (colorcalc.UV, float64) {
	var z [3]float64
	t.model.Predict(t.law, t.x, d, &z, nil)
	return colorcalc.UV{U: z[0], V: z[1]}, z[2]
}

// trimGain is the least part of a wanted shift that a step must bring: less is lost in the steps of the codes.
const trimGain = 0.2

// plan plans the smallest step from a drive to a colour.
func (t *Trimmer) plan(d []float64, goal colorcalc.UV, within float64) (plan.Plan, bool) {
	pl, ok := t.planner.Near(t.law, t.x, d, goal, within)
	if !ok && t.spec.Kind != Emitters {
		pl, _ = t.planner.Plan(t.law, t.x, d, goal, within)
		ok = true
	}
	return pl, ok
}

// dimmed is a drive of a head of emitters with the light of each lower by twice so much, ln: what is rounded away must not bring it back.
// The smallest steps may each be a little brighter, and a head that could only stop at the end of that would drift on.
func (t *Trimmer) dimmed(m *model.Mixture, d []float64, by float64) []float64 {
	out := slices.Clone(d)
	for i := range m.Emitters() {
		out[i] = m.Drive(t.law, t.x, math.Exp(-2*by)*m.Light(t.law, t.x, d[i]))
	}
	return out
}

// Step plans the smallest step from now that shifts the colour by about so much, of all emitters a little darker where it would
// be brighter than may be. moves is the shift that is predicted of it. ok is false where no step of the codes helps, or only a brighter one
// than may be, or one that is seen to be darker.
func (t *Trimmer) Step(now Drive, shift colorcalc.UV) (to Drive, moves colorcalc.UV, ok bool) {
	d := t.fractions(now)
	from, stands := t.at(d)
	b := t.model.Dim().B
	goal := colorcalc.UV{U: from.U + shift.U - t.x[b], V: from.V + shift.V - t.x[b+1]}
	want := shift.Dist(colorcalc.UV{})
	pl, ok := t.plan(d, goal, want)
	if !ok {
		return nil, moves, false
	}
	uv, ln := t.at(pl.D)
	if ln > t.top {
		m, mixes := t.model.(*model.Mixture)
		if !mixes {
			return nil, moves, false
		}
		if pl, ok = t.plan(t.dimmed(m, d, ln-t.top), goal, want); !ok {
			return nil, moves, false
		}
		if uv, ln = t.at(pl.D); ln > t.top || ln < max(t.bottom, stands-mostTrimDim) {
			return nil, moves, false
		}
	}
	if slices.Equal(pl.Codes, now) {
		return nil, moves, false
	}
	moves = colorcalc.UV{U: uv.U - from.U, V: uv.V - from.V}
	if moves.Dist(shift) > (1-trimGain)*want {
		return nil, moves, false
	}
	return pl.Codes, moves, true
}
