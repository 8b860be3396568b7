package profiles

import (
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/profiles/law"
)

// Profile is a checked fixture profile: what a fixture's manual says, in the
// words of the package comment. A Profile that Parse returned has no errors.
type Profile struct {
	Name  string
	Maker string // may be empty
	Note  string
	File  string // as given to Parse
	Modes []Mode // at least one
}

// Kind says what the parameters of a mode mean.
type Kind int

// The kinds of mode. The zero Kind is not valid.
const (
	_        Kind = iota
	Emitters      // one parameter for each emitter
	CCT           // colour temperature and, mostly, tint
	XY            // CIE 1931 x and y
	HueSat        // hue and saturation
	Fixed         // nothing can be set, or nothing but the level
)

// String gives the word of the profile file.
func (k Kind) String() string {
	if k < Emitters || k > Fixed {
		return "unknown kind"
	}
	return [...]string{Emitters: "emitters", CCT: "cct", XY: "xy", HueSat: "hue-saturation", Fixed: "fixed"}[k]
}

// Mode is one way of driving a fixture.
type Mode struct {
	Name string
	Kind Kind
	Note string
	// Footprint is how many slots the fixture takes; 0 for a lamp without
	// slots (by hand, or fixed).
	Footprint int
	// ByHand: a person sets this mode at the fixture; parameters have a Knob
	// and no slots.
	ByHand bool
	Heads  Heads

	Dimmer   *Param    // nil: no master dimmer
	Emitters []Emitter // of kind Emitters, 2 to 12
	CCT      *CCTParam // of kind CCT
	Tint     *TintParam
	X, Y     *ScaleParam // of kind XY: CIE 1931 x and y
	Hue, Sat *ScaleParam // of kind HueSat: degrees 0..360, and 0..1
	Space    *law.Space  // of kind HueSat; nil = not known
	Gamut    []colorcalc.UV
	White    *colorcalc.UV // light of a Fixed lamp, or where an XY or HueSat mode errs least; nil = not known

	Pins  []Pin   // slots that stand at one level while the fixture is matched
	Never []Never // slots that are sent nothing but their safe level

	Settle time.Duration // from the last slot to steady light; 0 = not known
	WarmUp time.Duration // from cold to steady; 0 = not known
}

// Heads says how the parameters repeat for several heads of one fixture.
type Heads struct {
	Count  int // at least 1
	Stride int // slots from one head's parameter to the next head's; 0 for one head
}

// Param is one thing that can be set. Its value is a code from 0 to Max.
type Param struct {
	Name string
	// Slots are offsets into the footprint from 1, coarse first: one for 8
	// bit, two for 16, three for 24. They are those of the first head. Empty
	// for a parameter set by hand.
	Slots []int
	// Range is the codes: up to 255, 65535 or 16777215; by hand the count of
	// steps of the knob. Codes outside Lo..Hi are never sent.
	law.Range
	Start  *uint32   // code at the start, nil = not given
	Curve  law.Curve // code -> light, of dimmers and emitters
	Common bool      // one for all heads of the fixture
	Knob   *law.Knob // what a person dials; nil for slots
	Path   string    // place in the file, for messages
}

// Bits gives the resolution in bits: 8, 16 or 24; 0 by hand.
func (p *Param) Bits() int { return 8 * len(p.Slots) }

// Emitter is one kind of light source in a head.
type Emitter struct {
	Param
	Colour string // the word the profile uses for it, such as "red" or "warm white"
	// UV is the nominal chromaticity at full, SigmaUV the standard deviation
	// per axis of what is left open about it (unit to unit and by the manual).
	UV      colorcalc.UV
	SigmaUV float64
	// Flux is luminance at full beside the fixture's other emitters, in any
	// unit common to them; SigmaLnFlux is the standard deviation of its ln.
	Flux, SigmaLnFlux float64
	White             bool // counts as white light
	// Spectrum is the nominal spectrum at full, from its file; nil: not known.
	Spectrum *spectrum.Spectrum
	// Blind: UV or violet light, which a meter hardly sees and an eye not at
	// all. Cap is the highest level that is sent (fraction of the scale Lo..Hi);
	// CapWhy says why, if it is below 1.
	Blind  bool
	Cap    float64
	CapWhy string
}

// Pin is a slot, or a coarse and fine set, that stands at one level.
type Pin struct {
	Name     string // such as "shutter"
	Slots    []int  // coarse first, of the first head
	Level    uint32 // on the scale of the slots
	Why      string
	EachHead bool   // repeats with the heads
	Path     string // place in the file, for messages
}

// Never is a slot that is sent nothing but its safe level.
type Never struct {
	Name     string // reset, lamp, fan, id, ...
	Slots    []int  // each an 8 bit slot of the first head
	Safe     uint8
	EachHead bool
	Path     string // place in the file, for messages
}
