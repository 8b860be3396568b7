package rig

import (
	"fmt"
	"slices"

	"trueup/dmx"
)

// Footprint is the number of slots that the fixture takes; 0 for a lamp that
// nothing is sent to.
func (f *Fixture) Footprint() int {
	if !f.Sent() || f.Mode == nil {
		return 0
	}
	return f.Mode.Footprint
}

// Last is the fixture's last slot; the zero Address where nothing is sent.
func (f *Fixture) Last() dmx.Address {
	n := f.Footprint()
	if n == 0 || !f.Address.Valid() {
		return dmx.Address{}
	}
	return dmx.Address{Universe: f.Address.Universe, Slot: f.Address.Slot + dmx.Slot(n-1)}
}

// Universes lists the universes that the rig sends, ascending.
func (r *Rig) Universes() []dmx.Universe {
	var us []dmx.Universe
	for i := range r.Fixtures {
		if f := &r.Fixtures[i]; f.Footprint() > 0 {
			us = append(us, f.Address.Universe)
		}
	}
	slices.Sort(us)
	return slices.Compact(us)
}

// locked refuses locked slots in a universe that we would send alone: every
// slot that is no fixture's would be sent as 0 there, house light included.
func (r *reader) locked() {
	if r.rig.Output.Mode == Overlay {
		return
	}
	us := r.rig.Universes()
	for _, l := range r.rig.Safety.Locked {
		if slices.Contains(us, l.Universe) {
			r.fault("$.safety.locked", "slots %v are locked, and universe %d is sent by us alone: they would be sent 0", l, l.Universe).
				Advise("write output mode: overlay, with the desk that holds them; or move the fixtures to another universe")
			return
		}
	}
}

// patch finds fixtures that share slots, and fixtures on locked slots.
func (r *reader) patch() {
	type owner [dmx.SlotsPerUniverse + 1]int // index+1 of the fixture on a slot; -1 locked
	used := map[dmx.Universe]*owner{}
	at := func(u dmx.Universe) *owner {
		if used[u] == nil {
			used[u] = new(owner)
		}
		return used[u]
	}
	for _, l := range r.rig.Safety.Locked {
		o := at(l.Universe)
		for s := l.First; s <= l.Last; s++ {
			o[s] = -1
		}
	}
	for i := range r.rig.Fixtures {
		f := &r.rig.Fixtures[i]
		last := f.Last()
		if last.Slot == 0 {
			continue
		}
		o := at(f.Address.Universe)
		hit := 0
		var from, to dmx.Slot
		for s := f.Address.Slot; s <= last.Slot; s++ {
			switch {
			case o[s] == 0:
			case hit == 0:
				hit, from, to = o[s], s, s
			case o[s] == hit:
				to = s
			}
		}
		free := "no room is left in this universe"
		if s := room(o[:], f.Footprint()); hit != 0 && s > 0 {
			free = fmt.Sprintf("free for it: %d/%d", f.Address.Universe, s)
		}
		for s := f.Address.Slot; s <= last.Slot; s++ {
			if o[s] == 0 {
				o[s] = i + 1
			}
		}
		if hit == 0 {
			continue
		}
		if hit < 0 {
			r.fault(r.paths[i]+".address", "fixture %q (%s..%d) lies on locked slots %d..%d", f.Name, f.Address, last.Slot, from, to).Advise("%s", free)
			continue
		}
		g := &r.rig.Fixtures[hit-1]
		r.fault(r.paths[i]+".address", "fixture %q (%s..%d) overlaps %q (%s..%d, line %d) on slots %d..%d",
			f.Name, f.Address, last.Slot, g.Name, g.Address, g.Last().Slot, g.Pos.Line, from, to).Advise("%s", free)
	}
}

// room finds the first run of n free slots; 0 for none.
func room(owner []int, n int) int {
	run := 0
	for s := 1; s < len(owner); s++ {
		run++
		if owner[s] != 0 {
			run = 0
		}
		if run == n {
			return s - n + 1
		}
	}
	return 0
}
