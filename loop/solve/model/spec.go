package model

import (
	"math"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

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
	// Slots that carry the code, from the fixture's first as 0, coarse first; empty: not known.
	Slots []int `json:"slots,omitempty"`
}

// Emitter is what the profile says of one emitter.
type Emitter struct {
	Name    string       `json:"name"`
	UV      colorcalc.UV `json:"uv"`       // CIE 1976, nominal
	SigmaUV float64      `json:"sigma_uv"` // standard deviation per axis of what the profile leaves open; 0 = a typical bin
	Flux    float64      `json:"flux"`     // luminance at full, any unit common to the head; 0 = not known
	White   bool         `json:"white"`    // counts as white light for the wish
	Droop   float64      `json:"droop"`    // nominal loss of light, as ln, from cold to warm at full; 0 = typical for its colour
	Codes   law.Range    `json:"codes"`    // from dark to full
}

// CCTSpec is the ideal law of a colour-temperature mode.
type CCTSpec struct {
	Channel   int      `json:"channel"` // index of the colour temperature channel
	Scale     law.CCT  `json:"scale"`
	Tint      int      `json:"tint"` // index of the tint channel, -1 = none
	TintScale law.Tint `json:"tint_scale"`
}

// XYSpec is the ideal law of a chromaticity mode.
type XYSpec struct {
	X, Y           int            // indices of the channels
	XScale, YScale law.Line       // CIE 1931
	Gamut          []colorcalc.UV `json:"gamut,omitempty"`  // corners as the manual has them, empty = not known
	Centre         colorcalc.UV   `json:"centre,omitempty"` // where errors are smallest; zero = D65
}

// HueSatSpec is the ideal law of a hue and saturation mode: three primaries
// mixed by law.Part. Their luminances are such that equal parts make White.
type HueSatSpec struct {
	Hue, Sat         int          // indices of the channels
	HueScale         law.Hue      // degrees
	SatScale         law.Line     // 0..1
	Red, Green, Blue colorcalc.UV // zero = typical LED primaries
	White            colorcalc.UV // zero = D65
}

// DimmerSpec is a master dimmer over the head.
type DimmerSpec struct {
	Channel int       `json:"channel"`
	Level   law.Level `json:"level"`
}

// Spec is what the profile says of one head. Exactly the fields of its Kind
// are used. Emitter i is driven by channel i; a dimmer channel comes after. A
// scale whose range of codes is zero has all codes of its channel.
type Spec struct {
	Name     string      `json:"name"`
	Kind     Kind        `json:"kind"`
	Channels []Channel   `json:"channels"`
	Emitters []Emitter   `json:"emitters,omitempty"`
	Curve    law.Curve   `json:"curve"` // common law of the emitters
	CCT      *CCTSpec    `json:"cct,omitempty"`
	XY       *XYSpec     `json:"xy,omitempty"`
	HueSat   *HueSatSpec `json:"hue_sat,omitempty"`
	Dimmer   *DimmerSpec `json:"dimmer,omitempty"`
	// Start is the look as found, one code per channel; nil = not known. A
	// dimmer stands there until a level is asked for.
	Start Drive `json:"start,omitempty"`
	// Address of the fixture's first slot, from 1, where the rig has it; 0 = not known.
	Address int `json:"address,omitempty"`
	// Modes are what the profile says of the same head in the fixture's other modes, each by its name; a lamp may be set to one of them. They have none in turn.
	Modes []Spec `json:"-"`
}

// Footprint is how many slots there are up to the last of the head's own; 0 where they are not known.
func (s *Spec) Footprint() (n int) {
	for i := range s.Channels {
		for _, at := range s.Channels[i].Slots {
			n = max(n, at+1)
		}
	}
	return n
}

// Scale is the codes over which the scale of channel i runs.
func (s *Spec) Scale(i int) law.Range {
	var r law.Range
	switch {
	case s.Dimmer != nil && i == s.Dimmer.Channel:
		r = s.Dimmer.Level.Range
	case s.Kind == Emitters && i < len(s.Emitters):
		r = s.Emitters[i].Codes
	case s.Kind == CCT && i == s.CCT.Channel:
		r = s.CCT.Scale.Range
	case s.Kind == CCT && i == s.CCT.Tint:
		r = s.CCT.TintScale.Range
	case s.Kind == XY && i == s.XY.X:
		r = s.XY.XScale.Range
	case s.Kind == XY && i == s.XY.Y:
		r = s.XY.YScale.Range
	case s.Kind == HueSat && i == s.HueSat.Hue:
		r = s.HueSat.HueScale.Range
	case s.Kind == HueSat && i == s.HueSat.Sat:
		r = s.HueSat.SatScale.Range
	}
	if r == (law.Range{}) {
		return law.Whole(s.Channels[i].Max)
	}
	return r
}

// Light is the scale of channel i where it makes light, an emitter or the dimmer; ok is false for what makes colour.
func (s *Spec) Light(i int) (l law.Level, ok bool) {
	switch {
	case s.Dimmer != nil && i == s.Dimmer.Channel:
		return law.Level{Range: s.Scale(i), Curve: s.Dimmer.Level.Curve}, true
	case s.Kind == Emitters && i < len(s.Emitters):
		return law.Level{Range: s.Scale(i), Curve: s.Curve}, true
	}
	return law.Level{}, false
}

// Drive gives a code of channel i as a fraction of its scale: the solver's own
// coordinate. Codes beyond the scale give its ends.
func (s *Spec) Drive(i int, code uint32) float64 { return s.Scale(i).Fraction(code) }

// Code rounds a drive of channel i to a code that may be sent.
func (s *Spec) Code(i int, d float64) uint32 { return s.Allowed(i, s.Scale(i).Place(d)) }

// Allowed rounds a place among the codes of channel i to one that may be sent.
func (s *Spec) Allowed(i int, place float64) uint32 {
	c, v := s.Channels[i], math.Round(place)
	if !(v >= float64(c.Lo)) {
		return c.Lo
	}
	if v > float64(c.Hi) {
		return c.Hi
	}
	return uint32(v)
}
