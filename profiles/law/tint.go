package law

import "trueup/colorcalc"

// GreenPercent is the Duv of one percent of a full (CC30) plus or minus green
// filter: 0.0010 Duv for each CC unit. It is a rule of thumb; light and dye move
// it between 0.0006 and 0.0013.
const GreenPercent = 0.0003

// TintUnit says what a tint scale counts.
type TintUnit int

// The tint units.
const (
	TintUnknown TintUnit = iota // it leans one way or the other: the readings tell how far
	TintDuv                     // ANSI C78.377 Duv
	TintGreen                   // percent of a full plus (+) or minus (-) green filter, CC30
)

// String gives the word of the profile file.
func (u TintUnit) String() string {
	if u < TintUnknown || u > TintGreen {
		return "unknown"
	}
	return [...]string{"unknown", "duv", "percent-green"}[u]
}

// Tint is a green/magenta scale: linear from From at Lo to To at Hi.
type Tint struct {
	Range
	Unit TintUnit
	// From and To are Duv whatever the unit; of an unknown unit a guess.
	From, To colorcalc.Duv
}

// At gives the nominal Duv of a code.
func (t Tint) At(code uint32) colorcalc.Duv {
	return t.From + colorcalc.Duv(t.Fraction(code))*(t.To-t.From)
}

// DuvOf gives the nominal Duv at a fraction of the scale.
func (t Tint) DuvOf(fraction float64) float64 {
	return float64(t.From) + fraction*float64(t.To-t.From)
}

// CodeOf gives the code whose nominal Duv is nearest.
func (t Tint) CodeOf(d colorcalc.Duv) uint32 {
	return t.Code(float64((d - t.From) / (t.To - t.From)))
}

// Shown tells Duv or percent green as the scale counts; percent of the scale
// where its unit is not known.
func (t Tint) Shown(code uint32) Shown {
	step := float64(t.To-t.From) / float64(max(t.Hi-t.Lo, 1))
	switch t.Unit {
	case TintDuv:
		return shown(float64(t.At(code)), step, "Duv")
	case TintGreen:
		return shown(float64(t.At(code))/GreenPercent, step/GreenPercent, "% green")
	}
	return percent(t.Range, code)
}

// CodeShown gives the code of a value in the scale's own unit.
func (t Tint) CodeShown(value float64) uint32 {
	switch t.Unit {
	case TintDuv:
		return t.CodeOf(colorcalc.Duv(value))
	case TintGreen:
		return t.CodeOf(colorcalc.Duv(value * GreenPercent))
	}
	return t.Code(value / 100)
}
