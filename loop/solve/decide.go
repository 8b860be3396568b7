package solve

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// worthNear is how much better the smallest step must score than the planned
// mixture.
const worthNear = 1.3

// worthMoving is how much better a move must score than one more reading.
const worthMoving = 1.02

// Next decides. at is the time on the match's own clock. What is known does not
// change, only a reading does that; but a Move counts as made, and until a
// reading of it arrives Next asks Again.
func (m *Match) Next(at time.Duration) Decision {
	m.begin(at)
	if d, ok := m.stopped(); ok {
		return d
	}
	if m.pending != nil { // it was sent there, and nothing came back yet
		d := m.decision(Again, m.inside(), "no reading came since the last step: ask once more")
		d.Drive = slices.Clone(m.pending)
		return d
	}
	lead := m.hyps[0]
	from := m.now
	if from == nil {
		from = m.start()
	}
	pl, _ := m.planFor(lead, from)
	m.lastPlan = pl
	if m.now == nil {
		return m.moveTo(pl, fmt.Sprintf("first drive, from the profile: predicted %s", milli(pl.err)))
	}
	if !m.allowed(m.drive) {
		return m.moveTo(pl, "stands where it may not: back within the limits")
	}
	p := m.inside()
	if p >= m.opt.Confidence && m.levelHolds() {
		return m.done(Landed, p, fmt.Sprintf("landed: within %s with %.1f %% confidence after %d readings", milli(m.target.Tol), 100*p, m.readings))
	}
	if m.readings >= m.opt.Budget {
		return m.spent(p)
	}
	if m.jumped {
		return m.jumpy(p)
	}
	if m.remembers() {
		if m.hitsHere() < 0.5 {
			return m.again(p, "the last reading did not fit: read it again")
		}
		pl = m.remembered(pl)
	}
	if b, ok := m.halfBack(); ok {
		if m.setbacks++; m.setbacks > setbacks {
			return m.jumpy(p)
		}
		return m.moveTo(b, "the light jumped away: half the way back to the nearest drive that was read")
	}
	if pl.err > 0.6*m.target.Tol {
		return m.atEdge(pl, p)
	}
	if p >= m.opt.Confidence { // the colour is right, the level is not
		return m.moveTo(pl, "the colour is right, the level is not yet")
	}
	if slices.Equal(pl.drive, m.drive) || m.way(lead, pl.d) < tinyStep*m.target.Tol {
		return m.again(p, "stands where the model would send it: one more reading to be sure")
	}
	stay := m.worth(m.now, false)
	move := m.worth(pl.d, true)
	if e, ok := m.plan.(*emitterSolver); ok && m.target.Y == 0 {
		// The planned mixture may be far off, with the doubt of a long way.
		if np, ok := e.near(lead.law, lead.x, m.now, m.goal(lead.x), m.target.Tol); ok && !slices.Equal(np.drive, m.drive) {
			if w := m.worth(np.d, true); w > worthNear*move {
				pl, move = np, w
			}
		}
	}
	if m.hitsHere() == 0 {
		stay = 0.9 * stay
	}
	if stay < hopeless && m.readsHere() >= hopelessFrom {
		return m.moveTo(pl, "more readings here would only confirm that it is off: a step, to learn more")
	}
	if move*m.haste() > stay*worthMoving {
		return m.moveTo(pl, fmt.Sprintf("a step pays more than another reading (%.0f %% against %.0f %% to land on the next)", 100*move, 100*stay))
	}
	return m.again(p, fmt.Sprintf("one more reading here pays more than a step (%.0f %% against %.0f %%)", 100*stay, 100*move))
}

// Where so many readings at a drive leave less than this chance to land with the
// next, reading on waits for luck.
const (
	hopeless     = 0.05
	hopelessFrom = 3
)

// readsHere counts the readings at the present drive.
func (m *Match) readsHere() (n int) {
	for k := len(m.taken) - 1; k >= 0 && slices.Equal(m.taken[k].r.Drive, m.drive); k-- {
		n++
	}
	return n
}

// tinyStep is the part of the tolerance below which a step is not worth making.
const tinyStep = 0.03

// way is how far a move to d is predicted to go, u'v'.
func (m *Match) way(h *hyp, d []float64) float64 {
	var a, b [3]float64
	m.m.predict(h.law, h.x, m.now, &a, nil)
	m.m.predict(h.law, h.x, d, &b, nil)
	return math.Hypot(a[0]-b[0], a[1]-b[1])
}

// timeWeighs is the part of a move's time that counts against it: measured in
// loop/looptest, 0.3 saves time and costs no readings, more saves a little more
// time and costs readings.
const timeWeighs = 0.3

// haste scales the worth of a move by what it costs in time beside a reading:
// a move that lands now saves later ones, so only part of the cost counts.
func (m *Match) haste() float64 {
	s, c := m.opt.Sample.Seconds(), m.opt.Settle.Seconds()
	if !(c > 0) {
		return 1
	}
	return 1 - timeWeighs*c/(c+s)
}

// start is the drive that a match without any begins from.
func (m *Match) start() []float64 {
	if m.spec.Start != nil {
		return m.fractions(m.spec.Start)
	}
	d := make([]float64, len(m.spec.Channels))
	for i, c := range m.spec.Channels {
		d[i] = (float64(c.Lo) + float64(c.Hi)) / 2 / float64(c.Max)
	}
	if m.spec.Dimmer != nil {
		c := m.spec.Channels[m.spec.Dimmer.Channel]
		d[m.spec.Dimmer.Channel] = float64(c.Hi) / float64(c.Max)
	}
	return d
}

// planFor solves for the target as hypothesis h sees the head.
func (m *Match) planFor(h *hyp, from []float64) (plan, bool) {
	t := m.goal(h.x)
	if m.target.Y > 0 && m.scaled {
		switch e := m.plan.(type) {
		case *emitterSolver:
			e.absY = m.target.Y
		case *planeSolver:
			e.absY = m.target.Y
		}
	}
	return m.plan.solve(h.law, h.x, from, t, m.target.Tol, false)
}

// goal is the target with the local offset of a state taken off.
func (m *Match) goal(x []float64) colorcalc.UV {
	return colorcalc.UV{U: m.target.UV.U - x[m.f.b], V: m.target.UV.V - x[m.f.b+1]}
}

func (m *Match) hitsHere() float64 {
	w := 0.0
	for _, h := range m.hyps {
		if h.hits > 0 {
			w += h.w
		}
	}
	return w
}

// worth is the probability that the next reading at d ends the match, plus a
// little for being right there.
func (m *Match) worth(d []float64, moving bool) float64 {
	r := m.noiseHere()
	total := 0.0
	for _, h := range m.hyps {
		z, c := m.spread(h, d)
		if moving {
			q := m.m.doubt(h, m.now, d)
			c.uu += q.uu
			c.uv += q.uv
			c.vv += q.vv
		}
		du, dv := z[0]-m.target.UV.U, z[1]-m.target.UV.V
		after, gain := condition(c, r)
		rho := m.reach(after)
		total += h.w * (inCircle(du, dv, gain, rho) + 0.02*inCircle(du, dv, c, m.target.Tol))
	}
	return total
}
