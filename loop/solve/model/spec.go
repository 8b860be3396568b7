package model

import "trueup/colorcalc"

// Kind says what the channels of a head mean.
type Kind int

// The kinds of mode. The zero Kind is not valid.
const (
	_        Kind = iota
	Emitters      // one channel per emitter
	CCT           // a colour temperature channel and, mostly, a tint channel
	XY            // CIE 1931 x and y channels
	HueSat        // hue and saturation channels
)

// String gives the word of the journal.
func (k Kind) String() string {
	switch k {
	case Emitters:
		return "emitters"
	case CCT:
		return "cct"
	case XY:
		return "xy"
	case HueSat:
		return "hue-sat"
	}
	return "unknown mode"
}

// Drive is what a head is set to: one code per channel of its Spec, in order.
type Drive []uint32

// Channel is one parameter of a head as the wire sees it.
type Channel struct {
	Name string `json:"name"`
	Max  uint32 `json:"max"` // code of full scale: 255, 65535 or 16777215
	Lo   uint32 `json:"lo"`  // lowest code that may be sent
	Hi   uint32 `json:"hi"`  // highest code that may be sent; limits arrive here
}

// Law names a response from drive (code/Max, 0..1) to light (0..1).
type Law int

// The laws. Unknown lets the readings decide among the others.
const (
	Unknown Law = iota
	Linear      // light = drive
	Square      // light = drive squared
	Gamma       // light = drive to the power Curve.Gamma (2.2 when zero)
	SCurve      // light = d^2 (3 - 2d): slow at both ends
	Table       // Curve.Table, light at equidistant drives from 0 to 1
)

// Curve is a response law with its figures.
type Curve struct {
	Law   Law       `json:"law"`
	Gamma float64   `json:"gamma,omitempty"`
	Table []float64 `json:"table,omitempty"` // ascending, 0..1, at least two
}

// Emitter is what the profile says of one emitter.
type Emitter struct {
	Name    string       `json:"name"`
	UV      colorcalc.UV `json:"uv"`       // CIE 1976, nominal
	SigmaUV float64      `json:"sigma_uv"` // standard deviation per axis of what the profile leaves open; 0 = a typical bin
	Flux    float64      `json:"flux"`     // luminance at full, any unit common to the head; 0 = not known
	White   bool         `json:"white"`    // counts as white light for the wish
	Droop   float64      `json:"droop"`    // nominal loss of light, as ln, from cold to warm at full; 0 = typical for its colour
}

// CCTSpec is the ideal law of a colour-temperature mode. At both ends of the
// channel's range (Lo..Hi may be narrower) the nominal value is given; between
// them the engine is linear in kelvin or in mired.
type CCTSpec struct {
	Channel    int              `json:"channel"`      // index of the colour temperature channel
	AtZero     colorcalc.Kelvin `json:"at_zero"`      // at code 0
	AtMax      colorcalc.Kelvin `json:"at_max"`       // at code Max
	MiredSteps bool             `json:"mired_steps"`  // linear in mired instead of kelvin
	Tint       int              `json:"tint"`         // index of the tint channel, -1 = none
	TintAtZero colorcalc.Duv    `json:"tint_at_zero"` // Duv at tint code 0
	TintAtMax  colorcalc.Duv    `json:"tint_at_max"`
	Steps      []CCTStep        `json:"steps,omitempty"` // a scale in steps, ascending codes; replaces AtZero and AtMax
}

// CCTStep is a range of codes that all mean one colour temperature.
type CCTStep struct {
	Lo     uint32           `json:"lo"`
	Hi     uint32           `json:"hi"`
	Kelvin colorcalc.Kelvin `json:"kelvin"`
}

// XYSpec is the ideal law of a chromaticity mode, linear between its ends.
type XYSpec struct {
	X, Y   int            `json:"-"`                // indices of the channels
	AtZero colorcalc.XY   `json:"at_zero"`          // x and y at code 0
	AtMax  colorcalc.XY   `json:"at_max"`           // x and y at code Max
	Gamut  []colorcalc.UV `json:"gamut,omitempty"`  // corners as the manual has them, empty = not known
	Centre colorcalc.UV   `json:"centre,omitempty"` // where errors are smallest; zero = D65
}

// HueSatSpec is the ideal law of a hue and saturation mode: hue runs once
// through red, green, blue from code 0 to Max+1, saturation from White at 0 to
// full. The primaries' luminances are such that equal parts make White.
type HueSatSpec struct {
	Hue, Sat         int          `json:"-"` // indices of the channels
	Red, Green, Blue colorcalc.UV `json:"-"` // zero = typical LED primaries
	White            colorcalc.UV `json:"-"` // zero = D65
}

// DimmerSpec is a master dimmer over the head.
type DimmerSpec struct {
	Channel int   `json:"channel"`
	Curve   Curve `json:"curve"`
}

// Spec is what the profile says of one head. Exactly the fields of its Kind
// are used. Emitter i is driven by channel i; a dimmer channel comes after.
type Spec struct {
	Name     string      `json:"name"`
	Kind     Kind        `json:"kind"`
	Channels []Channel   `json:"channels"`
	Emitters []Emitter   `json:"emitters,omitempty"`
	Curve    Curve       `json:"curve"` // common law of the emitters
	CCT      *CCTSpec    `json:"cct,omitempty"`
	XY       *XYSpec     `json:"xy,omitempty"`
	HueSat   *HueSatSpec `json:"hue_sat,omitempty"`
	Dimmer   *DimmerSpec `json:"dimmer,omitempty"`
	// Start is the look as found, one code per channel; nil = not known. A
	// dimmer stands there until a level is asked for.
	Start Drive `json:"start,omitempty"`
}
