package solve

import (
	"fmt"
	"slices"

	"trueup/loop/solve/num"
	"trueup/loop/solve/plan"
)

// Figures of a last step that is not read at once.
const (
	lastStepLaw  = 0.95 // weight of the law that it relies on
	lastStepGain = 0.02 // by how much it must be likelier to be inside than where the head stands
)

// NotReadYet ends the reason of a [Predicted] decision.
const NotReadYet = "; not read yet"

// lastStep ends a match with a move that nobody reads now, after which the head is likelier inside the tolerance than
// the caller asks ([Options.LastStep]). It is for callers that come back to read it and go on from there: a reading now and a move
// after it would bring it nearer, but another reading is due then in any case. It is for kinds of mode whose law says what a
// move does, and only while nothing is suspected.
func (m *Match) lastStep(pl plan.Plan, p float64) (Decision, bool) {
	if m.opt.LastStep == 0 || m.target.Y > 0 || m.spec.Kind != Emitters && m.spec.Kind != CCT || !m.unsuspected() {
		return Decision{}, false
	}
	if pl.Renewed || !pl.Reaches(m.target.Tol) || slices.Equal(pl.Codes, m.stand.codes) || m.sum.OfLaw(m.sum.Lead().Law) < lastStepLaw {
		return Decision{}, false
	}
	q := m.insideAfter(pl.D)
	if q < m.opt.LastStep || q < p+lastStepGain {
		return Decision{}, false
	}
	d := m.moveTo(pl, fmt.Sprintf("a last step of %s, after which the model holds %.1f %% within %s%s", milli(m.way(pl.D)), 100*q, milli(m.target.Tol), NotReadYet))
	d.Action, d.Outcome, d.P = Done, Predicted, q
	return d, true
}

// unsuspected tells whether nothing speaks against the model: the last reading accepted, no search, no cause named.
func (m *Match) unsuspected() bool {
	n := len(m.log.taken)
	return n > 0 && m.log.taken[n-1].verdict == Accepted && m.search == search{} && m.fault.cause == NoCause && !m.fault.missed && m.fault.misfits == 0
}

// insideAfter is P(true error <= Tol) after a move to d, by all that may be true.
func (m *Match) insideAfter(d []float64) (p float64) {
	for _, h := range m.sum.Components {
		z, c := m.spread(h, d)
		q := m.model.MoveNoise(&h.State, m.stand.d, d)
		c.UU += q.UU
		c.UV += q.UV
		c.VV += q.VV
		p += h.Weight * num.InCircle(z[0]-m.target.UV.U, z[1]-m.target.UV.V, c, m.target.Tol)
	}
	return p
}
