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
	if math.Hypot(du, dv) < 5e-5 {
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
func (m *Match) wordsOf(a *Account, before *hyp) string {
	pred := a.Predicted.Dist(m.target.UV)
	s := fmt.Sprintf("predicted %s off, read %s off", milli(pred), milli(a.Error))
	if a.Verdict == Outlier {
		return s + ": absurd beside what is known, set aside for now"
	}
	if w := m.learnt(before); w != "" {
		s += ": " + w
	}
	if m.causeWhy != "" {
		s += "; " + m.causeWhy
	}
	return s
}

// learnt names the largest thing that a reading changed in the leading
// hypothesis.
func (m *Match) learnt(before *hyp) string {
	now := m.hyps[0]
	if now.law != before.law {
		if e, ok := m.m.(*emitterModel); ok {
			return fmt.Sprintf("the dimmer law looks %s now", lawWord(e.curves[now.law]))
		}
		return "another law of the mode fits better now"
	}
	e, ok := m.m.(*emitterModel)
	if !ok {
		lean := colorcalc.UV{U: now.x[m.f.b], V: now.x[m.f.b+1]}
		z, _ := m.f.spread(now, m.now)
		at := colorcalc.UV{U: z[0], V: z[1]}
		return fmt.Sprintf("stands %s of the target (%s beside its law)", colourWords(m.target.UV, at), milli(math.Hypot(lean.U, lean.V)))
	}
	best, word := 0.0, ""
	mean := 0.0 // the scale of all together is the meter's, not the lamp's
	for i := range e.n {
		mean += (now.x[3*i+2] - e.nominal(&m.spec, i)) / float64(e.n)
	}
	for i, em := range m.spec.Emitters {
		change := math.Abs(now.x[3*i+2] - before.x[3*i+2])
		if p, _ := response(e.curves[now.law], m.now[i], now.x[3*e.n+offKappa]); p < 0.02 {
			continue
		}
		if change > best && change > 0.005 {
			off := now.x[3*i+2] - e.nominal(&m.spec, i) - mean
			best = change
			more := "more"
			if off < 0 {
				more = "less"
			}
			word = fmt.Sprintf("%s gives %.0f %% %s than its profile says, beside the others", em.Name, 100*math.Abs(math.Expm1(off)), more)
		}
	}
	return word
}

// nominal is the prior's ln of light of an emitter.
func (m *emitterModel) nominal(s *Spec, i int) float64 {
	sum := 0.0
	for _, e := range s.Emitters {
		sum += fluxOf(e)
	}
	return math.Log(fluxOf(s.Emitters[i])/sum) - 0.5*m.droop[i]
}

func lawWord(c Curve) string {
	switch c.Law {
	case Linear:
		return "linear"
	case Square:
		return "square"
	case Gamma:
		return fmt.Sprintf("gamma %.2g", c.exponent())
	case SCurve:
		return "S-shaped"
	case Table:
		return "as its table"
	}
	return "unknown"
}
