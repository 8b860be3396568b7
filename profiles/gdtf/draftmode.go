package gdtf

import (
	"errors"
	"fmt"
	"strings"
)

// kinds are the ways in which the mode lets colour be set.
func (m *Mode) kinds() []string {
	n := map[role]int{}
	for i := range m.Channels {
		if c := &m.Channels[i]; len(c.Slots) > 0 {
			n[c.role()]++
		}
	}
	var kinds []string
	if n[roleEmitter] > 0 {
		kinds = append(kinds, "emitters")
	}
	if n[roleRGB] > 0 {
		kinds = append(kinds, "indirect")
	}
	if n[roleCCT] > 0 {
		kinds = append(kinds, "cct")
	}
	if n[roleX] > 0 && n[roleY] > 0 {
		kinds = append(kinds, "xy")
	}
	if n[roleHue] > 0 && n[roleSat] > 0 {
		kinds = append(kinds, "hue-saturation")
	}
	return kinds
}

// moves tells whether a mode of a kind sets channels of a role.
func moves(kind string, r role) bool {
	switch kind {
	case "emitters":
		return r == roleEmitter
	case "indirect":
		return r == roleRGB
	case "cct":
		return r == roleCCT || r == roleTint
	case "xy":
		return r == roleX || r == roleY
	}
	return r == roleHue || r == roleSat
}

// mode drafts one mode in one of its kinds; at is its YAML path.
func (d *drafter) mode(m *Mode, kind, at string) (outMode, error) {
	out := outMode{Kind: kind, Slots: m.Footprint}
	if kind == "indirect" {
		out.Kind = "emitters"
		d.say(at+".kind", "the fixture mixes by itself: red, green and blue are not its emitters; their colours are wide guesses")
	}
	if m.Heads > 1 {
		out.Heads = &outHeads{Count: m.Heads, Stride: m.Stride}
	}
	need := map[string]*Function{} // master channel -> a function that depends on it
	var left []string              // channels that are not ours
	for i := range m.Channels {
		c := &m.Channels[i]
		if len(c.Slots) == 0 {
			continue
		}
		r := c.role()
		switch {
		case r == roleDimmer || moves(kind, r):
			f := c.function(r)
			if f == nil || f.From >= f.To {
				d.note("mode %q: %s on slot %s has no range of values; left out", m.Name, c.label(), slotText(c.Slots))
				continue
			}
			if f.Master != "" && m.channel(f.Master) != nil {
				need[m.channel(f.Master).Name()] = f
			}
			d.param(&out, m, c, f, r, at)
		case r == roleElse:
			left = append(left, fmt.Sprintf("%s (slot %s)", c.Attribute, slotText(c.Slots)))
		}
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		r := c.role()
		if len(c.Slots) == 0 || r == roleDimmer || r == roleElse || moves(kind, r) {
			continue
		}
		if f := need[c.Name()]; f != nil {
			d.pin(&out, m, c, f.MasterLo/2+f.MasterHi/2, fmt.Sprintf("%s only works with this slot at %d to %d", f.Name, f.MasterLo, f.MasterHi), at)
			continue
		}
		d.fixed(&out, m, c, r, at)
	}
	if len(left) > 0 {
		d.say(at+".slots", "not in this draft, and left to the desk in overlay: %s. With no desk they are sent 0; add them under set at the levels of your focus", strings.Join(left, ", "))
	}
	return out, enough(kind, &out)
}

// enough tells whether the mode can be a profile's.
func enough(kind string, out *outMode) error {
	switch kind {
	case "emitters", "indirect":
		if len(out.Emitters) < 3 || len(out.Emitters) > 12 {
			return fmt.Errorf("it has %d emitters; a profile has 3 to 12", len(out.Emitters))
		}
	case "cct":
		if out.CCT == nil {
			return errors.New("it has no colour temperature")
		}
	case "xy":
		if out.X == nil || out.Y == nil {
			return errors.New("x or y is missing")
		}
	default:
		if out.Hue == nil || out.Saturation == nil {
			return errors.New("hue or saturation is missing")
		}
	}
	return nil
}

func slotText(slots []int) string {
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(slots), " ", ","), "[]")
}

// param drafts a parameter that is set.
func (d *drafter) param(out *outMode, m *Mode, c *Channel, f *Function, r role, at string) {
	p := outParam{Slots: c.Slots, Common: m.Heads > 1 && !c.PerHead}
	if f.From > 0 || f.To < c.Max() {
		p.Levels = []uint32{f.From, f.To}
	}
	once := func(slot **outParam, key string) bool {
		if *slot != nil {
			d.note("mode %q: a second %s on slot %s is left out", m.Name, key, slotText(c.Slots))
			return false
		}
		*slot = &p
		return true
	}
	bounded := func(from, to, least, most float64) bool {
		return f.HasPhys && min(from, to) >= least && max(from, to) <= most && from != to
	}
	from, to := f.PhysFrom, f.PhysTo
	switch r {
	case roleDimmer:
		once(&out.Dimmer, "dimmer")
	case roleCCT:
		if !once(&out.CCT, "colour temperature") {
			return
		}
		if bounded(from, to, 1000, 25000) {
			p.Kelvin = []float64{from, to}
		} else {
			p.Kelvin = []float64{2700, 6500}
			d.say(at+".cct.kelvin", "GUESS: the file gives no kelvin; take the range from the manual")
		}
	case roleTint:
		p.Toward = "unknown"
		if once(&out.Tint, "tint") {
			d.say(at+".tint.toward", "the file does not say which way the tint goes, or how far: fill it in, or let the readings tell")
		}
	case roleX, roleY:
		slot, key := &out.X, "x"
		if r == roleY {
			slot, key = &out.Y, "y"
		}
		if once(slot, key) && bounded(from, to, 0, 1) {
			p.Range = []float64{from, to}
		} else {
			d.say(at+"."+key+".slots", "the file gives no range: 0 to 1 is assumed")
		}
	case roleHue:
		out.Space = d.ft.space(f.space)
		if once(&out.Hue, "hue") && bounded(from, to, -360, 720) {
			p.Degrees = []float64{from, to}
		}
	case roleSat:
		if once(&out.Saturation, "saturation") && bounded(from, to, 0, 100) && max(from, to) > 1 {
			p.Percent = []float64{from, to}
		}
	case roleEmitter, roleRGB:
		d.emitter(out, m, c, f, p, at)
	}
}
