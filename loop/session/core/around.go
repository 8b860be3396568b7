package core

import (
	"slices"

	"trueup/loop/solve"
)

// A lamp at a wrong address, or in another mode, takes what is in the slots of others. What those carry is known as far as the run drives them.

// around is what the slots about those of a unit carry, as a [solve.Reading] has it; nil where its slots are not known.
func (c *Core) around(u *unit) []byte {
	n := max(u.Spec.Footprint(), len(u.Still))
	if u.Universe == 0 || u.Spec.Address == 0 || n == 0 {
		return nil
	}
	first := u.Spec.Address - solve.AddressReach
	out := make([]byte, 2*n+2*solve.AddressReach) // in a mode of 16 bit a lamp takes up to twice as many as the rig has it take
	put := func(slot int, level byte) {
		if k := slot - first; k >= 0 && k < len(out) {
			out[k] = level
		}
	}
	for _, o := range c.units {
		if o.Universe == u.Universe && o.Spec.Address > 0 {
			o.onSlots(put)
		}
	}
	return out
}

// onSlots puts what a unit's slots carry.
func (u *unit) onSlots(put func(slot int, level byte)) {
	for k, level := range u.Still {
		put(u.Spec.Address+k, level)
	}
	now := u.at.Sent
	if now == nil {
		now = u.Rest
	}
	if len(now) != len(u.Spec.Channels) {
		return
	}
	for i := range u.Spec.Channels {
		code := now[i]
		for _, at := range slices.Backward(u.Spec.Channels[i].Slots) {
			put(u.Spec.Address+at, byte(code))
			code >>= 8
		}
	}
}
