package dmx

// MaxUniverse is the highest universe that may carry levels (E1.31-2018 6.2.7).
const MaxUniverse = 63999

// SlotsPerUniverse is the number of slots of a full universe (ANSI E1.11).
const SlotsPerUniverse = 512

// Universe is an E1.31 universe number, 1..63999. Zero is not a universe.
type Universe uint16

// Slot is a slot number inside a universe, 1..512. Zero is not a slot.
type Slot uint16

// Address is where a fixture begins: a slot of a universe, written "3/101".
type Address struct {
	Universe Universe
	Slot     Slot
}
