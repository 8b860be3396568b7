package dmx

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Piece is a run of slots that belongs together: a fixture, or one head of it.
// A fixture whose heads lie apart is several pieces with one Name.
type Piece struct {
	Name  string
	Start Address
	Slots int // footprint, 1..512
}

// End is the last slot of the piece, and whether the piece fits: neither its
// start is nowhere, nor does it cross the end of its universe. A fixture never
// goes on in the next universe.
func (p Piece) End() (Address, bool) {
	if !p.Start.Valid() || p.Slots < 1 || p.Slots > SlotsPerUniverse {
		return Address{}, false
	}
	end := int(p.Start.Slot) + p.Slots - 1
	if end > SlotsPerUniverse {
		return Address{}, false
	}
	return Address{p.Start.Universe, Slot(end)}, true
}

// Check says what is wrong with the piece by itself, and what would be right.
func (p Piece) Check() error {
	switch {
	case !p.Start.Universe.Valid():
		return fmt.Errorf("%s: universe %d is not in 1..%d", p.Name, p.Start.Universe, MaxUniverse)
	case !p.Start.Slot.Valid():
		return fmt.Errorf("%s: slot %d is not in 1..%d", p.Name, p.Start.Slot, SlotsPerUniverse)
	case p.Slots < 1 || p.Slots > SlotsPerUniverse:
		return fmt.Errorf("%s: a footprint of %d slots is not in 1..%d", p.Name, p.Slots, SlotsPerUniverse)
	}
	if _, ok := p.End(); !ok {
		last := SlotsPerUniverse - p.Slots + 1
		return fmt.Errorf("%s at %v: %d slots cross the end of universe %d; the last address where it fits is %v",
			p.Name, p.Start, p.Slots, p.Start.Universe, Address{p.Start.Universe, Slot(last)})
	}
	return nil
}

// Next is the first address at or after a where slots fit: a itself, or the
// start of the next universe. ok is false beyond the last universe.
func Next(a Address, slots int) (fit Address, ok bool) {
	if !a.Valid() || slots < 1 || slots > SlotsPerUniverse {
		return Address{}, false
	}
	if int(a.Slot)+slots-1 <= SlotsPerUniverse {
		return a, true
	}
	if a.Universe == MaxUniverse {
		return Address{}, false
	}
	return Address{a.Universe + 1, 1}, true
}

// Step is where a row of equal fixtures goes on: slots after a, or at the start
// of the next universe where the next one would cross the end.
func Step(a Address, step, slots int) (next Address, ok bool) {
	if !a.Valid() || step < 1 || slots < 1 || slots > SlotsPerUniverse {
		return Address{}, false
	}
	s := int(a.Slot) + step
	if s+slots-1 > SlotsPerUniverse {
		if a.Universe == MaxUniverse {
			return Address{}, false
		}
		return Address{a.Universe + 1, 1}, true
	}
	return Address{a.Universe, Slot(s)}, true
}

// Span is slots First..Last of a universe.
type Span struct {
	Universe    Universe
	First, Last Slot
}

// Slots counts them.
func (s Span) Slots() int { return int(s.Last) - int(s.First) + 1 }

// String writes "3/101..112", or "3/101" for a single slot.
func (s Span) String() string {
	a := Address{s.Universe, s.First}.String()
	if s.First == s.Last {
		return a
	}
	return fmt.Sprintf("%s..%d", a, s.Last)
}

// Overlap is two pieces that claim the same slots.
type Overlap struct {
	A, B Piece // A begins first
	Span Span  // what both claim
}

// Error says it with both names.
func (o Overlap) Error() string {
	return fmt.Sprintf("%s at %v and %s at %v both take %v", o.A.Name, o.A.Start, o.B.Name, o.B.Start, o.Span)
}

// Report is what a patch comes to.
type Report struct {
	Bad      []error   // pieces that do not fit by themselves; the rest leaves them out
	Overlaps []Overlap // every pair, in patch order
	Used     []Span    // joined runs, ascending
	Gaps     []Span    // free runs between the used ones of a universe, and up to its end
}

// Universes lists the universes in use, ascending.
func (r Report) Universes() []Universe {
	var us []Universe
	for _, s := range r.Used {
		if len(us) == 0 || us[len(us)-1] != s.Universe {
			us = append(us, s.Universe)
		}
	}
	return us
}

// Patch checks pieces against their universes and each other. It finds all
// faults at once. Pieces of one name may overlap nothing either: two heads on
// the same slots are a mistake too.
func Patch(pieces []Piece) Report {
	var r Report
	var good []Piece
	for _, p := range pieces {
		if err := p.Check(); err != nil {
			r.Bad = append(r.Bad, err)
			continue
		}
		good = append(good, p)
	}
	slices.SortStableFunc(good, func(a, b Piece) int {
		return cmp.Or(cmp.Compare(a.Start.Universe, b.Start.Universe), cmp.Compare(a.Start.Slot, b.Start.Slot), strings.Compare(a.Name, b.Name))
	})
	for i, a := range good {
		end, _ := a.End()
		for _, b := range good[i+1:] {
			if b.Start.Universe != end.Universe || b.Start.Slot > end.Slot {
				break
			}
			bEnd, _ := b.End()
			r.Overlaps = append(r.Overlaps, Overlap{a, b, Span{end.Universe, b.Start.Slot, min(end.Slot, bEnd.Slot)}})
		}
		r.use(Span{a.Start.Universe, a.Start.Slot, end.Slot})
	}
	r.gaps()
	return r
}

// use adds a span that begins at or after all before it.
func (r *Report) use(s Span) {
	if n := len(r.Used); n > 0 {
		if last := &r.Used[n-1]; last.Universe == s.Universe && s.First <= last.Last+1 {
			last.Last = max(last.Last, s.Last)
			return
		}
	}
	r.Used = append(r.Used, s)
}

func (r *Report) gaps() {
	free := Slot(1)
	for i, s := range r.Used {
		if s.First > free {
			r.Gaps = append(r.Gaps, Span{s.Universe, free, s.First - 1})
		}
		free = s.Last + 1
		if i+1 == len(r.Used) || r.Used[i+1].Universe != s.Universe {
			if free <= SlotsPerUniverse {
				r.Gaps = append(r.Gaps, Span{s.Universe, free, SlotsPerUniverse})
			}
			free = 1
		}
	}
}
