package solve

import (
	"fmt"
	"math"
	"strconv"

	"trueup/colorcalc"
)

// milli prints a colour difference as people read it.
func milli(d float64) string { return strconv.FormatFloat(d, 'f', milliDigits, 64) }

const milliDigits = 4

// sentence is memory in which a sentence is put together: every decision and every reading has one.
type sentence struct{ text []byte }

// begin starts a sentence.
func (s *sentence) begin(words string) *sentence {
	s.text = append(s.text[:0], words...)
	return s
}

// words goes on.
func (s *sentence) words(w string) *sentence {
	s.text = append(s.text, w...)
	return s
}

// milli adds a colour difference, as the function milli prints it.
func (s *sentence) milli(d float64) *sentence {
	s.text = strconv.AppendFloat(s.text, d, 'f', milliDigits, 64)
	return s
}

// percent adds a share of 1 with so many digits.
func (s *sentence) percent(share float64, digits int) *sentence {
	s.text = strconv.AppendFloat(s.text, 100*share, 'f', digits, 64)
	return s
}

// count adds a whole number.
func (s *sentence) count(n float64) *sentence {
	s.text = strconv.AppendFloat(s.text, n, 'f', 0, 64)
	return s
}

func (s *sentence) String() string { return string(s.text) }

// wordsOf is the sentence of a reading: what was expected, what was read, what
// the head turns out to be.
func (m *Match) wordsOf(a *Account) string {
	pred := a.Predicted.Dist(m.target.UV)
	s := m.text.begin("predicted ").milli(pred).words(" off, read ").milli(a.Error).words(" off")
	if a.Verdict == Outlier {
		s.words(": implausible, set aside")
	} else {
		m.learnt(s)
	}
	if k := m.scatter(); k > 1 {
		s.words("; readings of this fixture scatter some ").count(k).words(" times as much as the meter's")
	}
	if m.fault.why != "" {
		s.words("; ").words(m.fault.why)
	}
	return s.String()
}

// learnt adds the largest thing that a reading changed in the leading
// component.
func (m *Match) learnt(s *sentence) {
	now := m.sum.Lead()
	if now.Law != m.before.Law {
		if law := m.model.LawName(now.Law); law != "" {
			s.words(": the dimming curve looks ").words(law).words(" now")
			return
		}
		s.words(": another law of this mode fits better now")
		return
	}
	if m.model.Emitters() == 0 {
		b := m.model.Dim().B
		z, _ := m.sum.Filter.Spread(&now.State, m.stand.d)
		at := colorcalc.UV{U: z[0], V: z[1]}
		s.words(": now ").milli(at.Dist(m.target.UV)).words(" off, ").words(colorcalc.Direction(m.target.UV, at))
		s.words("; this fixture deviates ").milli(math.Hypot(now.X[b], now.X[b+1])).words(" from its profile here")
		return
	}
	i, ln, ok := m.model.Changed(&m.before, &now.State, m.stand.d)
	if !ok {
		return
	}
	more := "more"
	if ln < 0 {
		more = "less"
	}
	s.words(": ").words(m.spec.Emitters[i].Name).words(" gives ").percent(math.Abs(math.Expm1(ln)), 0).words(" % ").words(more)
	s.words(" than its profile says, relative to the other emitters")
}

// SureWords is how the reason of a landing says its probability.
func SureWords(p float64) string { return fmt.Sprintf("with %.1f %% confidence", 100*p) }
