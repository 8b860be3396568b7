package dmx

import (
	"fmt"
	"strconv"
	"strings"
)

// MaxUniverse is the highest universe that may carry levels (E1.31-2018 6.2.7).
const MaxUniverse = 63999

// SlotsPerUniverse is the number of slots of a full universe (ANSI E1.11).
const SlotsPerUniverse = 512

// Universe is an E1.31 universe number, 1..63999. Zero is not a universe.
type Universe uint16

// Valid tells whether levels may be sent on u.
func (u Universe) Valid() bool { return u >= 1 && u <= MaxUniverse }

// Slot is a slot number inside a universe, 1..512. Zero is not a slot.
type Slot uint16

// Valid tells whether a universe has such a slot.
func (s Slot) Valid() bool { return s >= 1 && s <= SlotsPerUniverse }

// Address is where a fixture begins: a slot of a universe, written "3/101".
// The zero Address is nowhere.
type Address struct {
	Universe Universe
	Slot     Slot
}

// Valid tells whether both halves are.
func (a Address) Valid() bool { return a.Universe.Valid() && a.Slot.Valid() }

// String writes the address as ParseAddress reads it.
func (a Address) String() string {
	return strconv.Itoa(int(a.Universe)) + "/" + strconv.Itoa(int(a.Slot))
}

// MarshalText writes the address as String does.
func (a Address) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads an address with ParseAddress.
func (a *Address) UnmarshalText(text []byte) error {
	b, err := ParseAddress(string(text))
	if err == nil {
		*a = b
	}
	return err
}

// ParseAddress reads an address as the trade writes it: universe, stroke, slot,
// as in "3/101". Both are plain decimal numbers without sign or leading zeros.
func ParseAddress(text string) (Address, error) {
	us, ss, ok := strings.Cut(text, "/")
	if !ok {
		return Address{}, fmt.Errorf("address %q: want universe/slot, such as 3/101", text)
	}
	u, err := number(us, MaxUniverse)
	if err != nil {
		return Address{}, fmt.Errorf("address %q: universe %w", text, err)
	}
	s, err := number(ss, SlotsPerUniverse)
	if err != nil {
		return Address{}, fmt.Errorf("address %q: slot %w", text, err)
	}
	return Address{Universe(u), Slot(s)}, nil
}

// number reads a decimal 1..max the strict way: what it accepts, Itoa writes back.
func number(text string, max int) (int, error) {
	if text == "" {
		return 0, fmt.Errorf("is missing: want 1..%d", max)
	}
	n, err := strconv.Atoi(text)
	if err != nil || strconv.Itoa(n) != text {
		return 0, fmt.Errorf("%q is not a plain number 1..%d", text, max)
	}
	if n < 1 || n > max {
		return 0, fmt.Errorf("%d is not in 1..%d", n, max)
	}
	return n, nil
}
