package mvr

import (
	"trueup/dmx"
	"trueup/profiles/gdtf"
)

// Plan is what a My Virtual Rig file says, as far as matching needs it.
type Plan struct {
	Version  string    // of the format, "1.6"
	Fixtures []Fixture // by position and unit number, else as in the file
	Types    []Type    // in order of their first use
	// Notes are things in the file that were not understood or look wrong.
	Notes []string
}

// Fixture is one lamp, or something else that hangs there, as planned. Texts
// are as written, without characters that do not print.
type Fixture struct {
	Name     string // not unique
	Layer    string
	Groups   []string // the group objects around it, outermost first
	Position string   // where it hangs, such as "LX 2"; may be empty
	Unit     int      // number on its position; 0 where there is none
	ID       string   // what a person types at a desk; may be empty
	House    bool     // house light
	// Type is an index into Plan.Types.
	Type int
	// Address is that of the first break; the zero Address where the plan gives
	// none. Unreadable says what is wrong with what stands there, Written.
	Address             dmx.Address
	Unreadable, Written string
	// Others are the addresses of further breaks, which a draft does not drive.
	Others []dmx.Address
	// Notes are what was guessed or left out of this fixture.
	Notes []string
	// Line is that of its element in the scene.
	Line int

	uuid, parent string // folded; parent is the multipatch
}

// Type is one mode of one GDTF file that fixtures name. One that turns out to be
// another's mode in other words has no fixture left.
type Type struct {
	Spec, Mode  string // as the plan has them; the GDTF file's own where it has such
	Maker, Name string // as the GDTF file has them; empty where it can not be read
	Footprint   int    // slots; 0 where it is not known
	// Draft is a profile with this mode alone; nil where none can be made, and
	// then Problem says why.
	Draft   *gdtf.Draft
	Problem string
	// Notes are what was guessed of the type.
	Notes []string

	file string // its name in the archive
}

// Options say what a plan can not know.
type Options struct {
	// UniverseOffset is added to every universe number of the plan, which are
	// the planner's own.
	UniverseOffset int
}
