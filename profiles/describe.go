package profiles

import (
	"fmt"
	"strings"

	"trueup/profiles/printable"
)

// Describe sums a mode up in a few lines of plain words: what is read, what is
// guessed, what is capped and what nothing is said of. A person compares it
// with the manual.
func (m *Mode) Describe() []string {
	var lines []string
	say := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	switch {
	case m.ByHand:
		say("set by hand")
	case m.Footprint == 0:
		say("no slots: it is only measured")
	case m.Heads.Count > 1:
		say("%d slots, %d heads every %d slots", m.Footprint, m.Heads.Count, m.Heads.Stride)
	default:
		say("%s", printable.Count(m.Footprint, "slot"))
	}
	for _, p := range m.Params() {
		say("%s", m.describeParam(p))
	}
	for _, p := range m.Pins {
		say("%s: %s held at %d%s", p.Name, slotWords(p.Slots), p.Level, m.eachWords(p.EachHead))
	}
	for _, n := range m.Never {
		say("%s: %s only ever sent its safe level, %d%s", n.Name, slotWords(n.Slots), n.Safe, m.eachWords(n.EachHead))
	}
	if left := m.Unnamed(); len(left) > 0 {
		say("nothing is said of %s: sent 0, or left to the desk in an overlay", slotWords(left))
	}
	return lines
}

func (m *Mode) describeParam(p *Param) string {
	s := p.Name + ": "
	if p.Knob != nil {
		s += fmt.Sprintf("%s to %s in %d steps", p.Dial(0), p.Dial(p.Max), p.Max)
	} else {
		s += fmt.Sprintf("%s, %d bit", slotWords(p.Slots), p.Bits())
		if p.Lo > 0 || p.Hi < p.Max {
			s += fmt.Sprintf(", levels %d to %d", p.Lo, p.Hi)
		}
	}
	if p.Common && m.Heads.Count > 1 {
		s += ", one for all heads"
	}
	switch {
	case m.CCT != nil && p == &m.CCT.Param:
		scale := "kelvin"
		if m.CCT.Mired {
			scale = "mired"
		}
		if n := len(m.CCT.Steps); n > 0 {
			return s + fmt.Sprintf(", %.0f to %.0f K in %d steps", float64(m.CCT.From), float64(m.CCT.To), n)
		}
		return s + fmt.Sprintf(", %.0f to %.0f K, linear in %s", float64(m.CCT.From), float64(m.CCT.To), scale)
	case m.Tint != nil && p == &m.Tint.Param:
		if m.Tint.Guess {
			return s + ", size of the scale not known: the readings tell"
		}
		return s + fmt.Sprintf(", Duv %s to %s", m.Tint.From.Text(), m.Tint.To.Text())
	}
	for _, c := range []struct {
		s    *ScaleParam
		unit string
	}{{m.X, ""}, {m.Y, ""}, {m.Hue, " degrees"}, {m.Sat, " of full"}} {
		if c.s != nil && p == &c.s.Param {
			return s + fmt.Sprintf(", %g to %g%s", c.s.From, c.s.To, c.unit)
		}
	}
	for i := range m.Emitters {
		if e := &m.Emitters[i]; p == &e.Param {
			xy := e.UV.XY()
			s += fmt.Sprintf(", about xy %.3f %.3f (give or take %.3f in u'v')", xy.X, xy.Y, e.SigmaUV)
			if e.Cap < 1 {
				s += fmt.Sprintf(", capped at %.3g %%", 100*e.Cap)
			}
		}
	}
	if p == m.Dimmer || len(m.Emitters) > 0 {
		s += ", curve " + p.Curve.Law.String()
	}
	return s
}

// eachWords says that something repeats with the heads.
func (m *Mode) eachWords(each bool) string {
	if each && m.Heads.Count > 1 {
		return ", in each head"
	}
	return ""
}

func slotWords(slots []int) string {
	word := "slots "
	if len(slots) == 1 {
		word = "slot "
	}
	var parts []string
	for i := 0; i < len(slots); {
		j := i
		for j+1 < len(slots) && slots[j+1] == slots[j]+1 {
			j++
		}
		switch {
		case j-i >= 2:
			parts = append(parts, fmt.Sprintf("%d..%d", slots[i], slots[j]))
		case j > i:
			parts = append(parts, fmt.Sprint(slots[i]), fmt.Sprint(slots[j]))
		default:
			parts = append(parts, fmt.Sprint(slots[i]))
		}
		i = j + 1
	}
	return word + strings.Join(parts, ", ")
}
