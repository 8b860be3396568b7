package profiles

import "trueup/colorcalc"

// CCTParam is a colour temperature parameter and its ideal law: linear in
// kelvin, or in mired, from From at code Lo to To at code Hi; or steps.
type CCTParam struct {
	Param
	From, To colorcalc.Kelvin // at Lo and at Hi; From may be the higher one
	Mired    bool             // linear in mired instead of kelvin
	// Steps, if given, replace From and To: each range of codes is one colour
	// temperature. They ascend in code; Lo and Hi enclose them.
	Steps []Step
}

// Step is a range of codes that all mean the same.
type Step struct {
	Lo, Hi uint32
	Kelvin colorcalc.Kelvin
}

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

// TintParam is a tint parameter: linear from From at code Lo to To at code Hi.
type TintParam struct {
	Param
	Unit TintUnit
	// From and To are Duv, converted from the unit of the file; where the unit
	// is unknown they are a wide guess.
	From, To colorcalc.Duv
	Guess    bool // the size of the scale is a guess
	SignOpen bool // so is its sign
}

// ScaleParam is a parameter linear from From at code Lo to To at code Hi.
type ScaleParam struct {
	Param
	From, To float64
}

// Space is an RGB space that hue and saturation stand in.
type Space struct {
	Name                    string
	Red, Green, Blue, White colorcalc.XY
}
