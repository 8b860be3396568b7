package plan

import (
	"trueup/colorcalc"
	"trueup/loop/solve/model"
)

// Plan is a drive and what the model expects of it.
type Plan struct {
	Codes model.Drive
	D     []float64 // the codes as fractions of full scale
	Err   float64   // predicted distance from the goal, u'v'
	// Renewed: by what was learnt since, another mix looks clearly more alike than the one that was held, and this is it.
	Renewed bool
}

// Planner turns a state x under a response law into a drive. now is the present
// drive; t is the target with the local offset of the state taken off.
type Planner interface {
	// Plan plans for t. reachable is false when only the nearest point is left.
	Plan(law int, x, now []float64, t colorcalc.UV, tol float64) (p Plan, reachable bool)
	// Fresh plans for t as if nothing had been chosen before, and remembers nothing.
	Fresh(law int, x, now []float64, t colorcalc.UV, tol float64) Plan
	// Near plans the smallest step with the emitters that are lit; ok is false
	// when there is none.
	Near(law int, x, now []float64, t colorcalc.UV, tol float64) (p Plan, ok bool)
	// AskLevel asks for a level as the meter counts it, from the next plan on.
	AskLevel(y float64)
	// Release forgets what was chosen: the next plan chooses anew.
	Release()
	// Lit is the drive as the light shows it: an emitter at the least drive whose
	// light is missing counts as dark. enough is how far from the reading a drive must be
	// predicted to say so.
	Lit(d []float64, reading Reading, enough float64) []float64
}

// Reading is what was read, for predictions to be held against.
type Reading interface {
	// Off is how far from it a drive is predicted, u'v'.
	Off(d []float64) float64
}

// Reaches reports whether a plan comes near enough to its goal.
func (p Plan) Reaches(tol float64) bool { return !(p.Err > reachedWithin*tol) }

// Round is the drive d on the lattice of allowed codes.
func Round(s *model.Spec, d []float64) Plan {
	p := Plan{Codes: make(model.Drive, len(d)), D: make([]float64, len(d))}
	for i := range s.Channels {
		p.Codes[i] = s.Code(i, d[i])
		p.D[i] = s.Drive(i, p.Codes[i])
	}
	return p
}
