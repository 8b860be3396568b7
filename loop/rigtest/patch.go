package rigtest

import (
	"slices"

	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// patched is where a lamp's slots are: the rig has its first at address, its channels one after another from there.
type patched struct {
	universe, address int     // the address from 1
	slots             [][]int // of each channel, from the address on, coarse first
	footprint         int
}

// universeSlots is how many slots a universe has.
const universeSlots = 512

// firstSlot is the address of the first lamp of a universe: one that listens lower has an address as well.
const firstSlot = 11

// patchAll gives the lamps of a rig their addresses, one behind another. Of every other type the dimmer comes first, else last.
func (r *Rig) patchAll() {
	universe, next := 1, firstSlot
	for i, l := range r.lamps {
		if l.drawn == nil {
			continue
		}
		n := len(l.channels)
		order := make([]int, n)
		for k := range order {
			order[k] = k
		}
		if l.channels[n-1].Role == stage.RoleDimmer && (uint64(i/r.alike())+r.seed>>1)%2 == 0 {
			order = append([]int{n - 1}, order[:n-1]...)
		}
		l.patch = patched{slots: make([][]int, n)}
		for _, k := range order {
			for most := l.channels[k].Max; most > 0; most >>= 8 {
				l.patch.slots[k] = append(l.patch.slots[k], l.patch.footprint)
				l.patch.footprint++
			}
		}
		if next+l.patch.footprint > universeSlots {
			universe, next = universe+1, firstSlot
		}
		l.patch.universe, l.patch.address = universe, next
		next += l.patch.footprint
	}
}

// tells tells a unit of the run where the rig has the lamp.
func (p *patched) tells(u *core.Unit) {
	if p.universe == 0 {
		return
	}
	u.Universe, u.Spec.Address = p.universe, p.address
	u.Spec.Channels = slices.Clone(u.Spec.Channels)
	for i := range u.Spec.Channels {
		u.Spec.Channels[i].Slots = p.slots[i]
	}
}

// patch puts the look at the start on the wire.
func (w *world) patch() {
	w.wire = map[int][]byte{}
	for _, l := range w.lamps {
		w.puts(l)
	}
}

// puts puts the codes that were sent to a lamp into its slots, and has every lamp that listens elsewhere take what is in its own.
func (w *world) puts(l *lamp) {
	p := &l.plan.patch
	if p.universe == 0 {
		return
	}
	wire := w.wire[p.universe]
	if wire == nil {
		wire = make([]byte, universeSlots)
		w.wire[p.universe] = wire
	}
	for i, slots := range p.slots {
		code := l.sent[i]
		for k := len(slots) - 1; k >= 0; k-- {
			wire[p.address+slots[k]-1] = byte(code)
			code >>= 8
		}
	}
	for _, o := range w.lamps {
		if !o.plan.listens() && o.plan.patch.universe == p.universe {
			w.hears(o, wire)
		}
	}
}

// hears has a lamp take what is in the slots at which it listens.
func (w *world) hears(l *lamp, wire []byte) {
	p := &l.plan.patch
	codes := make(solve.Drive, len(p.slots))
	take := func(s int) byte {
		if at := p.address + l.plan.off + s - 1; at >= 0 && at < len(wire) {
			return wire[at]
		}
		return 0
	}
	for i, slots := range p.slots {
		if l.plan.remoded {
			codes[i] = p.remoded(i, take)
			continue
		}
		for _, s := range slots {
			codes[i] = codes[i]<<8 | uint32(take(s))
		}
	}
	if !slices.Equal(codes, l.heard) {
		l.heard = codes
		w.at(l).Set(codes)
	}
}

// remoded is what a channel takes in a mode of 8 bit where the rig has 16, as a code of 16 bit, or the other way: the channels follow one another in both.
func (p *patched) remoded(channel int, take func(slot int) byte) uint32 {
	place := 0
	for _, slots := range p.slots {
		if slots[0] < p.slots[channel][0] {
			place++
		}
	}
	if len(p.slots[channel]) == 2 {
		return 257 * uint32(take(place))
	}
	return uint32(take(2 * place)) // its finest part is less than a code of the rig's
}
