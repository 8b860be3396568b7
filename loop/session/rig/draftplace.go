package rig

import (
	"fmt"
	"strconv"

	"trueup/colorcalc/expr"
	"trueup/dmx"
)

// places are the slots of each lamp of an entry, when its first one stands at
// start and each takes slots. An error says which of them has no place.
func (f DraftFixture) places(start dmx.Address, slots int) ([]dmx.Piece, error) {
	s, err := parseSpan(f.Name)
	if err != nil {
		return nil, err
	}
	var all []dmx.Piece
	at, ok := start, true
	for i := range s.count() {
		p := dmx.Piece{Name: s.name(i), Start: at, Slots: slots}
		if !ok {
			return nil, fmt.Errorf("%s: there is no universe left for it", p.Name)
		}
		if err := p.Check(); err != nil {
			return nil, err
		}
		all = append(all, p)
		at, ok = dmx.Step(at, slots, slots)
	}
	return all, nil
}

// CheckName refuses the name of one more entry that can not be read as a name
// or a range, or that an entry has already, ranges counted out.
func (d Draft) CheckName(name string) error {
	s, err := parseSpan(name)
	if err != nil {
		return err
	}
	has := map[string]bool{}
	for _, f := range d.Fixtures {
		old, _ := parseSpan(f.Name) // its name passed this check
		for i := range old.count() {
			has[old.name(i)] = true
		}
	}
	for i := range s.count() {
		if n := s.name(i); has[n] {
			return fmt.Errorf("%q is in the list already", n)
		} else if err := checkName(n); err != nil {
			return err
		}
	}
	return nil
}

// CheckPlace refuses a start for one more entry f of so many slots a fixture
// that does not fit, or that lies on the slots of an entry of the draft;
// footprint gives their slots. The error names a place that is free.
func (d Draft) CheckPlace(f DraftFixture, start dmx.Address, slots int, footprint func(DraftFixture) int) error {
	pieces, err := f.places(start, slots)
	if err != nil {
		return err
	}
	for _, old := range d.Fixtures {
		theirs, err := old.places(old.Address, footprint(old))
		if err != nil {
			continue // set by hand, or fixed
		}
		for _, a := range pieces {
			for _, b := range theirs {
				aEnd, _ := a.End()
				bEnd, _ := b.End()
				if a.Start.Universe == b.Start.Universe && a.Start.Slot <= bEnd.Slot && b.Start.Slot <= aEnd.Slot {
					return fmt.Errorf("%s (%v..%d) would overlap %s (%v..%d); free from %v on", a.Name, a.Start, aEnd.Slot, b.Name, b.Start, bEnd.Slot, d.Free(footprint))
				}
			}
		}
	}
	return nil
}

// CheckDeskChannel refuses a channel that the fixtures of an entry can not have.
func (f DraftFixture) CheckDeskChannel(text string) error {
	if text == "" {
		return nil
	}
	if _, err := strconv.ParseUint(text, 10, 31); err != nil && Count(f.Name) > 1 {
		return fmt.Errorf("%q: a range of fixtures needs a number to count up from, such as 101", text)
	}
	return checkName(text)
}

// CheckColor refuses a target that is no colour.
func CheckColor(text string) error {
	_, err := expr.Parse(text)
	return err
}

// Free is the address behind everything that is patched, for one more lamp
// like the last; footprint gives the slots of one lamp of an entry.
func (d Draft) Free(footprint func(DraftFixture) int) dmx.Address {
	at := dmx.Address{Universe: 1, Slot: 1}
	for _, f := range d.Fixtures {
		end, slots := f.Address, footprint(f)
		for range Count(f.Name) {
			end, _ = dmx.Step(end, slots, slots) // the zero Address stays
		}
		if end.Universe > at.Universe || end.Universe == at.Universe && end.Slot > at.Slot {
			at = end
		}
	}
	return at
}
