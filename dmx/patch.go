package dmx

import "fmt"

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
