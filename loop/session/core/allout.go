package core

import (
	"fmt"
	"slices"

	"trueup/loop/solve"
)

// A lamp is dark with its dimmer down, and takes its next colour meanwhile. One that takes its dimmer from another slot, at a wrong address or in another mode,
// glows with each colour that is set: the dark at its probe moves with it, and what is read of it lit is short of its own glow. So where a lamp seems to give no light, or the dark
// jumps each time its colour is set there, all its codes go down in the dark from then on. If its light goes with them, it is the lamp's and not the room's.

// Figures of a glow that goes out with its codes.
const (
	glowFell = 6.0  // standard deviations of the meter's level, that the dark falls at the least
	slowLeft = 0.03 // of the light of a slow lamp at its probe: as much may be what is left of that
)

// allOut has all codes of a unit go down in the dark from now on, and those of units on the slots beside, which it may take at a wrong address, and its probe read anew.
// False: they do already, or nothing is to be learnt by it.
func (c *Core) allOut(u *unit) (more bool) {
	d := c.background[u.Info.Probe]
	if !c.ours(u) || d == nil || d.black || d.blinks != "" || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter {
		return false
	}
	for _, o := range c.units {
		if o == u || o.besides(u) {
			more = o.goesAllOut() || more
		}
	}
	u.tried = u.tried || more
	d.wanted = d.wanted || more
	return more
}

// goesAllOut has all its codes go down in the dark where its dimmer alone did; false: they do already, or it has none.
func (u *unit) goesAllOut() bool {
	if u.Head < 0 || u.Spec.Dimmer == nil || len(u.Dark) != 1 {
		return false
	}
	out := *u.Unit
	out.Dark = nil
	for i, ch := range u.Spec.Channels {
		out.Dark = append(out.Dark, AxisCode{Axis: i, Code: ch.Lo})
	}
	u.Unit = &out
	return true
}

// besides tells whether a unit's slots are so near to those of another that this one may take them at a wrong address.
func (u *unit) besides(o *unit) bool {
	if u.Universe == 0 || u.Universe != o.Universe || u.Spec.Address == 0 || o.Spec.Address == 0 {
		return false
	}
	const near = solve.AddressReach
	return u.Spec.Address < o.Spec.Address+o.Spec.Footprint()+near && o.Spec.Address < u.Spec.Address+u.Spec.Footprint()+near
}

// followsTwice is how often in a row the dark has jumped after the colour of a lamp was set in it, until all its codes go down.
const followsTwice = 2

// coloursInTheDark notes with which codes the units of a probe stood in the dark when it was read, and whether that had jumped since it was read before.
func (c *Core) coloursInTheDark(probe string, jumped bool) {
	for _, u := range c.units {
		if u.Head < 0 || u.Info.Probe != probe || u.at.Sent == nil {
			continue
		}
		if u.inTheDark != nil && !slices.Equal(u.inTheDark, u.at.Sent) {
			if u.follows++; !jumped {
				u.follows = 0
			}
		}
		u.inTheDark, u.tried = slices.Clone(u.at.Sent), false
		if u.follows >= followsTwice {
			u.follows = 0
			c.allOut(u)
		}
	}
}

// ownGlow takes in that the dark at a probe has fallen by so many lux as all codes of a unit went down there: no light of the room is blamed for that, nor for what it
// did before. It tells whether it has.
func (c *Core) ownGlow(probe string, d *dark, fell, was float64) bool {
	left := func(u *unit) bool { // some of the light of a slow lamp is left when it is taken to be dark
		return u.Head >= 0 && u.Info.Probe == probe && u.settle >= slowGlow && fell < slowLeft*u.own.Y
	}
	if !(fell > glowFell*c.noiseAt(probe).sigmaLnY()*was) || slices.ContainsFunc(c.units, left) {
		return false
	}
	i := slices.IndexFunc(c.units, func(u *unit) bool { return u.Head >= 0 && u.Info.Probe == probe && u.tried })
	if i < 0 {
		return false
	}
	u := c.units[i]
	u.glows = fmt.Sprintf("the dark at %s fell from %.2f to %.2f lux as all its codes went down: it may take its dimmer from another slot, at a wrong address or in another mode", atProbe(probe), was, was-fell)
	c.enter(Entry{Kind: KindDrift, Fixture: u.Info.Name, Note: u.glows})
	d.jumps, d.switched, d.swings, u.lookedAside = nil, false, false, false
	return true
}

// withGlow adds what was seen of a unit's glow to why it is held for giving no light.
func (u *unit) withGlow(why string) string {
	if u.glows == "" {
		return why
	}
	return why + "; " + u.glows
}

// soonOut is how many readings in a row show no light before a wrong address is thought of: one may be a hand over the meter.
const soonOut = 2

// looksAside has a lamp that gives no light show whether its address is wrong, once unless its glow is seen by that: all its codes go down in the dark, and it stands where it may give some light,
// a coarse byte that is taken from a fine slot in the middle. Its own colour and level hardly move there. False where neither can be, or it was tried.
func (m *matching) looksAside(c *Core, u *unit) bool {
	if u.lookedAside || m.visit == nil || c.cfg.Plan.HandMeter || len(u.stood) != len(u.Spec.Channels) {
		return false
	}
	u.lookedAside = true
	d := slices.Clone(u.stood)
	for i := range u.Spec.Channels {
		if ch := &u.Spec.Channels[i]; len(ch.Slots) > 1 {
			d[i] = min(max(d[i]&^0xff|fineMiddle, ch.Lo), ch.Hi)
		}
	}
	if out := c.allOut(u); !out && slices.Equal(d, u.stood) {
		return false
	}
	u.stood = d
	m.dim.n = soonOut
	c.decided(u, Step{Action: "look", Codes: d, Words: "it gives no light: a look at a setting where it would, if its address is off by a slot"})
	return true
}

// fineMiddle is a fine byte in the middle of its range.
const fineMiddle = 0x80
