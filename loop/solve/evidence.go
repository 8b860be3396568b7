package solve

import (
	"fmt"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/plan"
)

// "Out of reach" is a verdict on a lamp, as "landed" is, and takes evidence as that does: readings accepted at the
// nearest point that show it outside the tolerance, nothing suspected that may be mended, and, on a coarse lattice, no setting
// beside it that may land. Where one is missing, the match asks for it; where it can not be had, it ends unsettled and says why.

// declare ends a match out of reach if the readings bear that out, unless a drive was read that is better
// than this one: then it goes back there and reads again.
func (m *Match) declare(p float64) Decision {
	if b, ok := m.bestRead(); ok && m.search.count[wentBack] == 0 {
		m.search.on(wentBack)
		return m.moveTo(b, "an earlier setting was read nearer to the target: back there to read again")
	}
	if m.log.count < m.opt.Budget {
		if d, ok := m.seekEvidence(p); ok {
			return d
		}
	}
	uv, c := m.sum.Mean(m.stand.d)
	dist := uv.Dist(m.target.UV)
	words := colorcalc.Describe(m.target.UV.XY(), uv.XY())
	if why := m.unproven(p, dist); why != "" {
		return m.done(Unsettled, p, fmt.Sprintf("unsettled: nearest point %s off, +/- %s: %s; %s", milli(dist), milli(2*c.SD()), words, why))
	}
	return m.done(OutOfReach, p, fmt.Sprintf("out of reach: nearest point %s off: %s", milli(dist), words))
}

// seekEvidence asks for what is missing to call the present drive the nearest point; false where nothing is, or
// where asking is over.
func (m *Match) seekEvidence(p float64) (Decision, bool) {
	if m.few() && m.log.at(m.stand.codes) < m.edgeMost() {
		return m.again(p, "one more reading at the nearest point before it is called out of reach"), true
	}
	if m.fault.ends() {
		return Decision{}, false
	}
	if pl, ok := m.otherWay(); ok && m.search.count[edged] < edgeTries {
		m.search.on(edged)
		return m.moveTo(pl, fmt.Sprintf("it looks out of reach, but %s: a look at the setting that reaches the target then", m.doubt())), true
	}
	if p <= edgeInside {
		return Decision{}, false
	}
	pl := m.lastPlan
	if m.search.phase == approaching && pl.Codes != nil && !slices.Equal(pl.Codes, m.stand.codes) && m.search.count[edged] < edgeTries {
		if q := m.insideAfter(pl.D); q > p+edgeBetter {
			m.search.on(edged)
			return m.moveTo(pl, m.likelier("at the edge of what it reaches, a setting that is likelier inside", q, p)), true
		}
	}
	if m.log.at(m.stand.codes) < m.edgeMost() {
		return m.again(p, "this may be within tolerance after all: one more reading"), true
	}
	return Decision{}, false
}

// edgeMost is how many readings at the nearest point may be spent on telling inside from outside: few where an
// earlier visit has spent them, unless it found the head inside.
func (m *Match) edgeMost() int {
	if m.opt.Earlier > 0 && !m.opt.Former {
		return edgeAgain
	}
	return edgeReads
}

// few tells that too few readings at the present drive were accepted to say where it stands.
func (m *Match) few() bool {
	mean, n := m.meanAt(m.stand.codes)
	r := m.noise()
	far := mean.Dist(m.target.UV) > m.target.Tol+edgeFar*math.Sqrt((r.UU+r.VV)/2)
	return n == 0 || n < edgeLeast && !far
}

// otherWay is the setting at which the story that this one may yet give way to has the target, where it was not read there.
func (m *Match) otherWay() (pl plan.Plan, ok bool) {
	if m.suspect == nil {
		return pl, false
	}
	pl = m.suspect.planFrom(m.stand.d)
	return pl, pl.Reaches(m.target.Tol) && m.allowed(pl.Codes) && !m.log.read(pl.Codes)
}

// mayReachOtherwise is whether there is such a setting.
func (m *Match) mayReachOtherwise() bool {
	_, ok := m.otherWay()
	return ok
}

// unproven says what is missing to call the present drive, so far off, the nearest point; "" where nothing is.
func (m *Match) unproven(p, dist float64) string {
	switch _, n := m.meanAt(m.stand.codes); {
	case n > 0 && m.few():
		return "too few readings there fitted what is known of the lamp to tell where it stands"
	case n == 0:
		return "no reading there fitted what is known of the lamp, so that nothing is shown to be out of reach"
	case m.fault.cause == NotAnswering || m.fault.cause == WrongMode:
		return m.fault.why
	case m.mayReachOtherwise():
		return m.doubt() + ", and then it may reach the target"
	case p > edgeInside:
		return "at the edge of what it reaches, too near the edge of the tolerance to tell inside from outside"
	case m.opt.Former && dist < formerNear*m.target.Tol:
		return "it had landed, and does not now: it, the light about it or the reference has moved since"
	}
	return ""
}
