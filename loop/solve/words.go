package solve

import (
	"fmt"
	"math"

	"trueup/colorcalc"
)

// milli prints a colour difference as people read it.
func milli(d float64) string { return fmt.Sprintf("%.4f", d) }

// colourWords says how the light `is` lies from the light `want`.
func colourWords(want, is colorcalc.UV) string {
	du, dv := is.U-want.U, is.V-want.V
	if math.Hypot(du, dv) < nothingToSee {
		return "no difference to be seen"
	}
	a := math.Atan2(dv, du) * 180 / math.Pi
	word := "towards blue"
	switch {
	case a > -75 && a <= -12:
		word = "towards magenta"
	case a > -12 && a <= 25:
		word = "towards red"
	case a > 25 && a <= 75:
		word = "towards orange (warmer)"
	case a > 75 && a <= 120:
		word = "towards yellow"
	case a > 120 && a <= 200 || a <= -160:
		word = "towards green"
	case a > -160 && a <= -125:
		word = "towards cyan (cooler)"
	}
	return word
}

// wordsOf is the sentence of a reading: what was expected, what was read, what
// the head turns out to be.
func (m *Match) wordsOf(a *Account) string {
	pred := a.Predicted.Dist(m.target.UV)
	s := fmt.Sprintf("predicted %s off, read %s off", milli(pred), milli(a.Error))
	if a.Verdict == Outlier {
		return s + ": absurd beside what is known, set aside for now"
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
			return fmt.Sprintf("the dimmer law looks %s now", law)
		}
		return "another law of the mode fits better now"
	}
	if m.model.Emitters() == 0 {
		b := m.model.Dim().B
		z, _ := m.sum.Filter.Spread(&now.State, m.stand.d)
		at := colorcalc.UV{U: z[0], V: z[1]}
		return fmt.Sprintf("stands %s of the target (%s beside its law)", colourWords(m.target.UV, at), milli(math.Hypot(now.X[b], now.X[b+1])))
	}
	i, ln, ok := m.model.Changed(&m.before, &now.State, m.stand.d)
	if !ok {
		return ""
	}
	more := "more"
	if ln < 0 {
		more = "less"
	}
	return fmt.Sprintf("%s gives %.0f %% %s than its profile says, beside the others", m.spec.Emitters[i].Name, 100*math.Abs(math.Expm1(ln)), more)
}
