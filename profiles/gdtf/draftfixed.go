package gdtf

import (
	"fmt"
	"math"
	"strings"
)

// fixed drafts a slot that stands still.
func (d *drafter) fixed(out *outMode, m *Mode, c *Channel, r role, at string) {
	safe, why := c.Default, ""
	if !c.HasDef {
		why = "GUESS: the file gives no default; 0 may not be harmless"
	}
	switch {
	case r == roleShutter && len(c.Slots) == 1 && out.Shutter == nil:
		d.shutter(out, m, c, at)
	case r == roleNever:
		for i, s := range c.Slots {
			n := outNever{Name: c.label(), Slots: []int{s}, Safe: safe >> (8 * (len(c.Slots) - 1 - i)) & 0xFF, EachHead: m.Heads > 1 && c.PerHead}
			out.NeverTouch = append(out.NeverTouch, n)
			if why != "" {
				d.say(fmt.Sprintf("%s.never_touch[%d].safe", at, len(out.NeverTouch)-1), "%s", why)
			}
		}
	default:
		if why == "" {
			why = "held at the file's default"
			if r == roleShutter {
				why = "held at the file's default; is it open there?"
			}
		}
		d.pin(out, m, c, safe, why, at)
	}
}

func (c *Channel) label() string {
	name := strings.TrimSpace(c.Attribute)
	for i := range c.Functions {
		if f := &c.Functions[i]; f.Attribute != "" && (name == "" || name == "NoFeature") {
			name = f.Attribute
		}
	}
	if name == "" {
		name = "slot " + slotText(c.Slots)
	}
	return name
}

func (d *drafter) pin(out *outMode, m *Mode, c *Channel, to uint32, why, at string) {
	if len(out.Set) == 64 {
		d.note("mode %q: more than 64 slots to hold; %s is left out", m.Name, c.label())
		return
	}
	out.Set = append(out.Set, outPin{Name: c.label(), Slots: c.Slots, To: to, Why: clipLine(why), EachHead: m.Heads > 1 && c.PerHead})
}

// shutter drafts the shutter, held where the file says that it is open.
func (d *drafter) shutter(out *outMode, m *Mode, c *Channel, at string) {
	s := &outShutter{Slots: c.Slots, EachHead: m.Heads > 1 && c.PerHead}
	found := false
	for i := range c.Functions {
		f := &c.Functions[i]
		span := [2]uint32{f.From, f.To}
		plain := strings.TrimRight(f.Attribute, "0123456789")
		text := strings.ToLower(f.Name)
		switch {
		case strings.Contains(f.Attribute, "Strobe") && plain != "Shutter":
			s.Strobe = append(s.Strobe, span)
		case strings.Contains(text, "clos") || f.HasPhys && f.PhysFrom == 0 && f.PhysTo == 0:
			s.Closed = append(s.Closed, span)
		case !found && (strings.Contains(text, "open") || f.HasPhys && f.PhysFrom == 1 && f.PhysTo == 1):
			s.Open, found = f.From+(f.To-f.From)/2, true // well away from the borders
		}
		for _, set := range f.Sets {
			if text := strings.ToLower(set.Name); !found && plain == "Shutter" && strings.Contains(text, "open") {
				s.Open, found = set.From+(set.To-set.From)/2, true
			}
		}
	}
	if len(s.Closed) > 16 || len(s.Strobe) > 32 {
		s.Closed, s.Strobe = nil, nil
		d.say(at+".shutter.open", "the file lists too many ranges; look them up in the manual")
	}
	if !found {
		s.Open = c.Default
		for _, r := range append(s.Closed, s.Strobe...) {
			if s.Open >= r[0] && s.Open <= r[1] {
				s.Open = math.MaxUint8
				s.Closed, s.Strobe = nil, nil
				break
			}
		}
		d.say(at+".shutter.open", "GUESS: the file does not say where the shutter is open; look it up in the manual")
	}
	out.Shutter = s
}
