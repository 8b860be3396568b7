package session

import (
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Unit is one head of one fixture, compiled from its profile: what the core must
// know of it, and how its codes are told to people and read from the wire.
type Unit struct {
	core.Unit
	// Spectra are those of the emitters, in the order of the spec, as the profile has them; nil
	// where it has none.
	Spectra []*spectrum.Kept
	// Decode reads the unit's codes out of a universe.
	Decode func(slots *[512]byte) (solve.Drive, error)
	// Settings tells codes in the fixture's own units; Slots as raw slots, with
	// all that must stand beside them for the light to come out.
	Settings func(solve.Drive) []Setting
	Slots    func(solve.Drive) []SlotValue
}

// Dress tells the codes of a step in every way a person may want them.
func (u *Unit) Dress(s *Step) {
	if s != nil && s.Codes != nil {
		s.Settings, s.Slots = u.Settings(s.Codes), u.Slots(s.Codes)
	}
}

// DressEntry does so with every step that an entry tells.
func (u *Unit) DressEntry(e *Entry) {
	u.Dress(e.Step)
	if o := e.Outcome; o != nil {
		u.Dress(o.Before)
		u.Dress(o.After)
	}
}
