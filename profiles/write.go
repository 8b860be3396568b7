package profiles

import (
	"fmt"
	"strconv"
	"strings"

	"trueup/profiles/law"
)

// Answers is what a person can tell of one mode from a page of the manual.
// Draft writes it down as a profile. Zero means "not told".
type Answers struct {
	Name, Maker, Mode string
	Kind              Kind
	Footprint         int // 0: no slots
	Dimmer            []int
	Emitters          []AnswerParam // of kind Emitters
	Curve             string        // as the file spells it; "" = unknown
	CCT, Tint         []int         // slots
	Kelvin            [2]float64
	Mired             bool
	TintDuv           *[2]float64 // nil: size not known, TintToward says the direction
	TintToward        string
	X, Y, Hue, Sat    []int
	Shutter           int // slot, 0 = none
	Open              int
	Set               []AnswerParam // held at Level
	Never             []AnswerParam // safe at Level
	White             float64       // kelvin of a fixed lamp, 0 = not told
	// Knobs, for a mode set by hand: one for each parameter by its key of the
	// file ("dimmer", "cct", "tint", "x", ...) or by its emitter's name. With
	// them the mode has no slots.
	Knobs map[string]law.Knob
}

// AnswerParam is a named thing on slots.
type AnswerParam struct {
	Name  string
	Slots []int
	Level int
}

// Draft writes a commented profile. It may be wrong where the answers are (an
// overlap, a missing emitter): Parse says so, with the line.
func Draft(a Answers) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# Fixture profile. Compare it with the manual, then: trueup profile check FILE")
	line("# What is not known is left out: it is found by measuring. Slots count from 1,")
	line("# coarse before fine. examples/reference-profile.yaml shows every key.")
	line("profile: %s", scalar(a.Name))
	if a.Maker != "" {
		line("maker: %s", scalar(a.Maker))
	}
	line("modes:")
	line("  - mode: %s", scalar(a.Mode))
	line("    kind: %s", a.Kind)
	if a.Footprint > 0 {
		line("    slots: %d # all that the mode takes", a.Footprint)
	}
	if a.Knobs != nil {
		a.byHand(line)
		return b.String()
	}
	if len(a.Dimmer) > 0 {
		line("    dimmer: {slots: %s} # curve: linear, square, ... if the manual says so", ints(a.Dimmer))
	}
	switch a.Kind {
	case Emitters:
		if a.Curve != "" {
			line("    curve: %s # how light follows the levels", a.Curve)
		} else {
			line("    # curve: linear   how light follows the levels, if the manual says so")
		}
		line("    # beside slots, if the manual has it: dominant_nm, xy, kelvin, flux")
		line("    emitters:")
		for _, e := range a.Emitters {
			line("      - {name: %s, slots: %s}", scalar(e.Name), ints(e.Slots))
		}
	case CCT:
		scale := ""
		if a.Mired {
			scale = ", scale: mired"
		}
		line("    # kelvin at the lowest and at the highest level")
		line("    cct: {slots: %s, kelvin: [%s, %s]%s}", ints(a.CCT), num(a.Kelvin[0]), num(a.Kelvin[1]), scale)
		switch {
		case len(a.Tint) == 0:
		case a.TintDuv != nil:
			line("    # Duv at the lowest and at the highest level, + green, - magenta")
			line("    tint: {slots: %s, duv: [%s, %s]}", ints(a.Tint), num(a.TintDuv[0]), num(a.TintDuv[1]))
		default:
			line("    # the size of the scale is not known: what a higher level does")
			line("    tint: {slots: %s, toward: %s}", ints(a.Tint), a.TintToward)
		}
	case XY:
		line("    # add \"range: [0, 0.8]\" if the highest level means another value than 1")
		line("    x: {slots: %s}", ints(a.X))
		line("    y: {slots: %s}", ints(a.Y))
	case HueSat:
		line("    hue: {slots: %s}", ints(a.Hue))
		line("    saturation: {slots: %s}", ints(a.Sat))
	case Fixed:
		if a.White > 0 {
			line("    white: {kelvin: %s} # what it looks like, roughly", num(a.White))
		}
	}
	if a.Shutter > 0 {
		line("    shutter: {slots: [%d], open: %d} # closed and strobe ranges may be added", a.Shutter, a.Open)
	}
	if len(a.Set) > 0 {
		line("    set: # held at one level while the fixture is matched")
		for _, s := range a.Set {
			line("      - {name: %s, slots: %s, to: %d}", scalar(s.Name), ints(s.Slots), s.Level)
		}
	}
	if len(a.Never) > 0 {
		line("    never_touch: # sent nothing but the safe level")
		for _, s := range a.Never {
			line("      - {name: %s, slots: %s, safe: %d}", scalar(s.Name), ints(s.Slots), s.Level)
		}
	}
	return b.String()
}

// byHand writes the rest of a mode that a person sets at the fixture.
func (a Answers) byHand(line func(string, ...any)) {
	line("    by_hand: true # a person turns these knobs")
	knob := func(key, more string) {
		if k, ok := a.Knobs[key]; ok {
			line("    %s: {knob: %s%s}", key, flow(k), more)
		}
	}
	knob("dimmer", "")
	switch a.Kind {
	case Emitters:
		line("    emitters:")
		for _, e := range a.Emitters {
			line("      - {name: %s, knob: %s}", scalar(e.Name), flow(a.Knobs[e.Name]))
		}
	case CCT:
		more := ""
		if a.Knobs["cct"].Unit != "K" {
			more = fmt.Sprintf(", kelvin: [%s, %s]", num(a.Kelvin[0]), num(a.Kelvin[1]))
		}
		knob("cct", more)
		knob("tint", ", toward: "+a.TintToward)
	case XY:
		knob("x", "")
		knob("y", "")
	case HueSat:
		knob("hue", "")
		knob("saturation", "")
	}
}

func flow(k law.Knob) string {
	unit := ""
	if k.Unit != "" {
		unit = ", unit: " + scalar(k.Unit)
	}
	return fmt.Sprintf("{shows: %s%s, from: %s, to: %s, step: %s}", scalar(k.Label), unit, num(k.From), num(k.To), num(k.Step))
}

// scalar writes a text so that it is read back as the same text: bare where
// that is safe, else in double quotes.
func scalar(s string) string {
	bare := s != ""
	for i, r := range s {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || !(r >= '0' && r <= '9' || r == ' ' && i < len(s)-1)) {
			bare = false
		}
	}
	switch strings.ToLower(s) {
	case "true", "false", "yes", "no", "on", "off", "null", "y", "n":
		bare = false
	}
	if bare {
		return s
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString("\\" + string(r))
		case r < 0x20 || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 || r == 0xfeff || r == 0xfffd:
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String() + "\""
}

func ints(slots []int) string {
	words := make([]string, len(slots))
	for i, s := range slots {
		words[i] = strconv.Itoa(s)
	}
	return "[" + strings.Join(words, ", ") + "]"
}

func num(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
