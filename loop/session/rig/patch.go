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
		if f := &r.Fixtures[i]; f.Footprint() > 0 && f.Address.Valid() {
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
	var places places
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
		for s := f.Address.Slot; s <= last.Slot; s++ {
			if o[s] == 0 {
				o[s] = i + 1
			}
		}
		if hit == 0 {
			continue
		}
		if places == nil {
			places = r.places()
		}
		free := "no room is left in this universe"
		if s := places.room(f); s > 0 {
			free = fmt.Sprintf("free for it: %d/%d", f.Address.Universe, s)
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

// places counts who wants each slot: locks, all fixtures as they are written, and where a fixture was told to go.
type places map[dmx.Universe]*[dmx.SlotsPerUniverse + 1]int

// add counts n for each slot of a range.
func (p places) add(u dmx.Universe, first, last dmx.Slot, n int) {
	if p[u] == nil {
		p[u] = new([dmx.SlotsPerUniverse + 1]int)
	}
	for s := first; s <= last; s++ {
		p[u][s] += n
	}
}

func (r *reader) places() places {
	p := places{}
	for _, l := range r.rig.Safety.Locked {
		p.add(l.Universe, l.First, l.Last, 1)
	}
	for i := range r.rig.Fixtures {
		if f := &r.rig.Fixtures[i]; f.Last().Slot != 0 {
			p.add(f.Address.Universe, f.Address.Slot, f.Last().Slot, 1)
		}
	}
	return p
}

// room finds the first slots that a fixture could move to, and keeps them for it; 0 for none.
func (p places) room(f *Fixture) dmx.Slot {
	u, n, run := f.Address.Universe, f.Footprint(), 0
	p.add(u, f.Address.Slot, f.Last().Slot, -1) // it makes its own room
	defer p.add(u, f.Address.Slot, f.Last().Slot, 1)
	for s := 1; s <= dmx.SlotsPerUniverse; s++ {
		run++
		if p[u][s] != 0 {
			run = 0
		}
		if run == n {
			first := dmx.Slot(s - n + 1)
			p.add(u, first, dmx.Slot(s), 1)
			return first
		}
	}
	return 0
}
