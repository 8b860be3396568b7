package solve

import (
	"fmt"
	"math"

	"trueup/colorcalc"
)

// milli prints a colour difference as people read it.
func milli(d float64) string { return fmt.Sprintf("%.4f", d) }

// wordsOf is the sentence of a reading: what was expected, what was read, what
// the head turns out to be.
func (m *Match) wordsOf(a *Account) string {
	pred := a.Predicted.Dist(m.target.UV)
	s := fmt.Sprintf("predicted %s off, read %s off", milli(pred), milli(a.Error))
	if a.Verdict == Outlier {
		s += ": implausible, set aside"
		if m.fault.why != "" {
			s += "; " + m.fault.why
		}
		return s
	}
	if w := m.learnt(); w != "" {
		s += ": " + w
	}
	if m.fault.why != "" {
		s += "; " + m.fault.why
	}
	return s
}

// learnt names the largest thing that a reading changed in the leading
// component.
func (m *Match) learnt() string {
	now := m.sum.Lead()
	if now.Law != m.before.Law {
		if law := m.model.LawName(now.Law); law != "" {
			return fmt.Sprintf("the dimming curve looks %s now", law)
		}
		return "another law of this mode fits better now"
	}
	if m.model.Emitters() == 0 {
		b := m.model.Dim().B
		z, _ := m.sum.Filter.Spread(&now.State, m.stand.d)
		at := colorcalc.UV{U: z[0], V: z[1]}
		return fmt.Sprintf("now %s off, %s; this fixture deviates %s from its profile here", milli(at.Dist(m.target.UV)), colorcalc.Direction(m.target.UV, at), milli(math.Hypot(now.X[b], now.X[b+1])))
	}
	i, ln, ok := m.model.Changed(&m.before, &now.State, m.stand.d)
	if !ok {
		return ""
	}
	more := "more"
	if ln < 0 {
		more = "less"
	}
	return fmt.Sprintf("%s gives %.0f %% %s than its profile says, relative to the other emitters", m.spec.Emitters[i].Name, 100*math.Abs(math.Expm1(ln)), more)
}
