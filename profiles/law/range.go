package law

import "math"

// Range is the codes of one parameter. Codes run from 0 to Max (255, 65535 or
// 16777215 on slots; the count of steps of a knob); its scale from Lo to Hi.
type Range struct {
	Max uint32 `json:"max"`
	Lo  uint32 `json:"lo"`
	Hi  uint32 `json:"hi"`
}

// Whole is the range of all codes up to most.
func Whole(most uint32) Range { return Range{Max: most, Hi: most} }

// Codes gives the range itself: every scale embeds one.
func (r Range) Codes() Range { return r }

// Clamp gives the code of Lo..Hi that is nearest.
func (r Range) Clamp(code uint32) uint32 { return max(r.Lo, min(r.Hi, code)) }

// Fraction gives a code as a fraction of Lo..Hi, 0..1. Codes beyond give the ends.
func (r Range) Fraction(code uint32) float64 {
	if r.Hi <= r.Lo {
		return 0
	}
	return float64(r.Clamp(code)-r.Lo) / float64(r.Hi-r.Lo)
}

// Code gives the code nearest to a fraction of Lo..Hi. What is outside of 0..1
// ends at Lo or Hi; NaN is Lo.
func (r Range) Code(fraction float64) uint32 {
	if !(fraction > 0) {
		return r.Lo
	}
	if fraction >= 1 {
		return r.Hi
	}
	return r.Lo + uint32(math.Round(fraction*float64(r.Hi-r.Lo)))
}

// FractionAt is Fraction between two codes.
func (r Range) FractionAt(code float64) float64 {
	if r.Hi <= r.Lo {
		return 0
	}
	return min(max((code-float64(r.Lo))/float64(r.Hi-r.Lo), 0), 1)
}

// Place gives the place of a fraction among the codes, unrounded and not held
// to Lo..Hi.
func (r Range) Place(fraction float64) float64 {
	return float64(r.Lo) + fraction*float64(r.Hi-r.Lo)
}
