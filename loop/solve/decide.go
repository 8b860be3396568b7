package solve

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve/estimate"
	"trueup/loop/solve/plan"
	"trueup/profiles/printable"
)

// Next decides. at is the time on the match's own clock. What is known does not
// change, only a reading does that; but a Move counts as made, and until a
// reading of it arrives Next asks Again.
func (m *Match) Next(at time.Duration) Decision {
	d := m.next(at)
	if back, ok := m.backToFormer(d); ok {
		return back
	}
	return d
}

// next is Next, apart from where an earlier visit had landed.
func (m *Match) next(at time.Duration) Decision {
	m.begin(at)
	if d, ok := m.stopped(); ok {
		return d
	}
	if m.stand.underWay { // it was sent there, and nothing came back yet
		d := m.decision(Again, m.inside(), "no reading since the last step: reading again")
		d.Drive = slices.Clone(m.stand.pending)
		return d
	}
	from := m.stand.d
	if from == nil {
		from = m.start()
	}
	pl := m.planFrom(from)
	m.lastPlan = pl
	if m.stand.d == nil {
		if m.first != nil && m.allowed(m.first) {
			return m.moveTo(plan.Plan{Codes: m.first, D: m.fractions(m.first)}, "first setting: where it had stood")
		}
		return m.moveTo(pl, m.text.begin("first setting, from the profile: predicted ").milli(pl.Err).words(" off").String())
	}
	if !m.allowed(m.stand.codes) {
		return m.moveTo(pl, "outside its limits: back within them")
	}
	p := m.inside()
	if to, ok := m.backFromLook(); ok {
		return m.moveTo(to, "the look is taken: back to the setting that looked landed")
	}
	if t, ok := m.early(); ok {
		return m.moveTo(t, fmt.Sprintf("%s; a look on the way at a setting where that would show", m.doubt()))
	}
	if m.lookTaken() && pl.Reaches(m.target.Tol) && !slices.Equal(pl.Codes, m.stand.codes) {
		return m.moveTo(pl, "the look is taken: on to the target by what it told")
	}
	if d, ok := m.lastStep(pl, p); ok {
		return d
	}
	landed := p >= m.sure() && m.levelHolds() && !pl.Renewed
	switch {
	case landed && m.readOff():
		if m.log.count >= m.opt.Budget {
			return m.spent(p)
		}
		return m.again(p, "it looks landed, but what is read here lies outside: one more reading")
	case landed && m.insideAnyhow(p) < m.opt.Confidence && m.log.count < m.opt.Budget:
		return m.again(p, "it looks landed, but its light may scatter more than the meter does: one more reading")
	case landed:
		if t, ok := m.parting(); ok {
			m.left = slices.Clone(m.stand.codes)
			return m.moveTo(t, fmt.Sprintf("it looks landed, but %s; a look at a setting where that would show", m.doubt()))
		}
		return m.done(Landed, p, fmt.Sprintf("landed: within %s %s after %s%s", milli(m.target.Tol), SureWords(p), printable.Count(m.opt.Earlier+m.log.count, "reading"), m.offLevel()))
	case m.log.count >= m.opt.Budget || m.fault.strays():
		return m.spent(p)
	case m.search.phase == confirming:
		return m.jumpy(p)
	}
	return m.edge.proceed(m, pl, p)
}

// weigh decides between a move to a plan that the model sees at the target, and
// one more reading here.
func (m *Match) weigh(pl plan.Plan, p float64) Decision {
	if pl.Renewed {
		return m.moveTo(pl, "by what is known of its emitters now another mix looks clearly more alike")
	}
	switch {
	case p < m.opt.Confidence:
	case m.target.Y > 0 && m.levelHolds(): // it is asked to be surer than that
		return m.again(p, "it looks landed: one more reading to be sure")
	default:
		m.levelSteps++
		return m.moveTo(pl, "the colour is right, the level is not yet")
	}
	if slices.Equal(pl.Codes, m.stand.codes) || m.way(pl.D) < tinyStep*m.target.Tol {
		return m.again(p, "already at the best setting: one more reading to be sure")
	}
	stay := m.worth(m.stand.d, false)
	move := m.worth(pl.D, true)
	if m.target.Y == 0 {
		// The planned mixture may be far off, with the noise of a long move.
		lead := m.sum.Lead()
		if near, ok := m.planner.Near(lead.Law, lead.X, m.stand.d, m.goal(lead.X), m.target.Tol); ok && !slices.Equal(near.Codes, m.stand.codes) {
			if w := m.worth(near.D, true); w > worthNear*move {
				pl, move = near, w
			}
		}
	}
	if m.sum.Accepted() == 0 {
		stay = unfit * stay
	}
	if stay < hopeless && m.log.at(m.stand.codes) >= hopelessFrom {
		return m.moveTo(pl, "more readings here would not land it: a step, to learn more")
	}
	if move*m.haste() > stay*worthMoving {
		return m.moveTo(pl, m.likelier("a step is likelier to land it than another reading", move, stay))
	}
	if move > stay {
		return m.again(p, m.likelier("another reading costs less than a step that is little likelier to land it", stay, move))
	}
	return m.again(p, m.likelier("another reading is likelier to land it than a step", stay, move))
}

// likelier adds two chances to a comparison.
func (m *Match) likelier(words string, this, that float64) string {
	return m.text.begin(words).words(" (").percent(this, 0).words(" % against ").percent(that, 0).words(" %)").String()
}

// way is how far a move to d is predicted to go, u'v'.
func (m *Match) way(d []float64) float64 {
	h := &m.sum.Lead().State
	a, b := m.sum.Filter.Predict(h, m.stand.d), m.sum.Filter.Predict(h, d)
	return math.Hypot(a[0]-b[0], a[1]-b[1])
}

// planFrom solves for the target as the leading component sees the head.
func (m *Match) planFrom(from []float64) plan.Plan {
	if m.target.Y > 0 && m.sum.LevelKnown {
		m.planner.AskLevel(m.target.Y)
	}
	h := m.sum.Lead()
	pl, _ := m.planner.Plan(h.Law, h.X, from, m.goal(h.X), m.target.Tol)
	return pl
}

// goal is the target with the local offset of a state taken off.
func (m *Match) goal(x []float64) colorcalc.UV {
	b := m.model.Dim().B
	return colorcalc.UV{U: m.target.UV.U - x[b], V: m.target.UV.V - x[b+1]}
}

// levelHolds reports whether an asked level is met, or as near as the head comes to it (always, if none is asked or
// the scale is not known).
func (m *Match) levelHolds() bool {
	if m.target.Y <= 0 || !m.sum.LevelKnown {
		return true
	}
	here, asked := m.lnLevel(m.stand.d), math.Log(m.target.Y)
	switch {
	case math.Abs(here-asked) <= m.target.TolY:
		return true
	case m.lastPlan.Codes == nil:
		return false
	case slices.Equal(m.lastPlan.Codes, m.stand.codes), m.levelSteps >= mostLevelSteps:
		return true
	}
	// It gives less than is asked, and the next step would not give more, or was not let through by its limits before.
	there := m.lnLevel(m.lastPlan.D)
	return here < asked && (there-here <= littleLevel*m.target.TolY || m.isCut && there >= m.cut-littleLevel*m.target.TolY)
}

// offLevel says by how much the level that a head landed with is another than was asked for; "" where that is met.
func (m *Match) offLevel() string {
	if m.target.Y <= 0 || !m.sum.LevelKnown {
		return ""
	}
	off := m.lnLevel(m.stand.d) - math.Log(m.target.Y)
	if math.Abs(off) <= farLevel*m.target.TolY {
		return ""
	}
	side := "above"
	if off < 0 {
		side = "below"
	}
	return fmt.Sprintf("; its level is %.0f %% %s the one asked for", 100*math.Abs(math.Expm1(off)), side)
}

const (
	farLevel       = 2.0 // tolerances of the level: nearer may be the scatter of two readings
	littleLevel    = 0.5 // of the tolerance of the level: no step is worth so little
	mostLevelSteps = 6   // are made for the level alone: one that they do not bring is not to be had
)

// lnLevel is the logarithm of the level at a drive, as the leading component has it.
func (m *Match) lnLevel(d []float64) float64 {
	return m.sum.Filter.Predict(&m.sum.Lead().State, d)[2]
}

// wasCut notes that the head's limits did not let a step through: the least level that they have cut.
func (m *Match) wasCut(sent []float64) {
	if m.target.Y <= 0 || !m.sum.LevelKnown || m.stand.pending == nil {
		return
	}
	asked := m.lnLevel(m.fractions(m.stand.pending))
	if asked-m.lnLevel(sent) > littleLevel*m.target.TolY && (!m.isCut || asked < m.cut) {
		m.cut, m.isCut = asked, true
	}
}

func (m *Match) decision(a Action, p float64, why string) Decision {
	d := Decision{Action: a, Drive: slices.Clone(m.stand.codes), P: p, Reason: why, Cause: m.fault.cause}
	if m.stand.d != nil {
		uv, c := m.sum.Mean(m.stand.d)
		d.Predicted, d.PredictedSD = uv, c.SD()
		d.Nearest, d.Distance = uv, uv.Dist(m.target.UV)
		d.PredictedY = m.levelAt(m.sum.Lead(), m.stand.d)
	}
	return d
}

func (m *Match) levelAt(h *estimate.Component, d []float64) float64 {
	if !m.sum.LevelKnown {
		return 0
	}
	return math.Exp(m.sum.Filter.Predict(&h.State, d)[2])
}

func (m *Match) again(p float64, why string) Decision { return m.decision(Again, p, why) }

func (m *Match) moveTo(pl plan.Plan, why string) Decision {
	h := m.sum.Lead()
	z, c := m.sum.Filter.Spread(&h.State, pl.D)
	if m.stand.d != nil {
		q := m.model.MoveNoise(&h.State, m.stand.d, pl.D)
		c.UU += q.UU
		c.VV += q.VV
	}
	uv := colorcalc.UV{U: z[0], V: z[1]}
	m.stand.pending, m.stand.underWay = append(m.stand.pending[:0], pl.Codes...), true
	return Decision{Action: Move, Drive: slices.Clone(pl.Codes), P: m.inside(), Reason: why, Cause: m.fault.cause,
		Predicted: uv, PredictedSD: c.SD(), PredictedY: m.levelAt(h, pl.D), Nearest: uv, Distance: uv.Dist(m.target.UV)}
}

// sureReadings is how many readings a match may spend on being surer than it must.
const sureReadings = 6

// sure is the confidence that a landing takes now.
func (m *Match) sure() float64 {
	if m.log.count < sureReadings {
		return max(m.opt.Confidence, m.opt.Sure)
	}
	return m.opt.Confidence
}

func (m *Match) done(o Outcome, p float64, why string) Decision {
	if m.said && o != Held { // held says its cause itself
		why += "; " + m.as.why
	}
	d := m.decision(Done, p, why)
	d.Outcome = o
	return d
}

// spent ends a match whose budget of readings is used up.
func (m *Match) spent(p float64) Decision {
	if !m.lastPlan.Reaches(m.target.Tol) {
		return m.declare(p)
	}
	uv, c := m.sum.Mean(m.stand.d)
	why := fmt.Sprintf("unsettled: after %s %s off, +/- %s", printable.Count(m.log.count, "reading"), milli(uv.Dist(m.target.UV)), milli(2*c.SD()))
	if why2 := m.unsettledBy(); why2 != "" {
		why += "; " + why2
	}
	return m.done(Unsettled, p, why)
}
