package solve

import (
	"fmt"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/plan"
)

// halfBack plans half the way back to the nearest drive that was read, where the
// last move did not end as the law has it and led further off: backtracking, as
// for any Newton step that fails (Dennis and Schnabel 1983, section 6.3).
func (s *seek) halfBack(m *Match) (plan.Plan, bool) {
	if !m.fault.missed {
		return plan.Plan{}, false
	}
	b, ok := m.bestRead()
	uv, _ := m.sum.Mean(m.stand.d)
	if !ok || uv.Dist(m.target.UV) < b.Err+setback*m.target.Tol {
		return plan.Plan{}, false
	}
	half := make([]float64, len(m.stand.d))
	for i := range half {
		half[i] = (b.D[i] + m.stand.d[i]) / 2
	}
	out := plan.Round(&m.spec, half)
	out.Err, _ = s.process(m).Off(out.D)
	return out, !slices.Equal(out.Codes, m.stand.codes) && !slices.Equal(out.Codes, b.Codes)
}

// jumpy ends a match whose lamp does not do between two drives what it does at
// both: a mixture that changes its emitters, a table with a step. It goes back to
// the nearest drive that was read, and stays there as long as that may be inside
// the tolerance.
func (m *Match) jumpy(p float64) Decision {
	if b, ok := m.bestRead(); ok && m.search.phase != confirming {
		m.search.on(jumped)
		return m.moveTo(b, "the light jumps between neighbouring settings: back to the nearest one read")
	}
	m.search.on(jumped)
	m.search.on(stayed)
	uv, c := m.sum.Mean(m.stand.d)
	off := uv.Dist(m.target.UV)
	most := lastReads
	if p > nearlyLands {
		most *= 2
	}
	if m.sum.Accepted() < mostAccepted || off < m.target.Tol+c.SD() && m.search.count[stayed] <= most {
		return m.again(p, "one more reading at the nearest setting read")
	}
	m.fault.cause = Jumps
	return m.done(Unsettled, p, fmt.Sprintf("unsettled: the light jumps between neighbouring settings, and none was read within tolerance; the nearest is %s off: %s", milli(off), colorcalc.Describe(m.target.UV.XY(), uv.XY())))
}
