package law

import (
	"math"
	"strconv"
)

// Scale is what the codes of one parameter count.
type Scale interface {
	Codes() Range
	// Shown tells a code as the fixture's own menu or manual does.
	Shown(code uint32) Shown
	// CodeShown is its inverse: the code whose shown value is nearest.
	CodeShown(value float64) uint32
}

// Shown is a value in the unit of the fixture, rounded to Places digits after
// the point: enough to tell one code from the next, and no more.
type Shown struct {
	Value  float64
	Unit   string // "K", "Duv", "% green", "°", "%", "x", "y", or a knob's own
	Places int
}

// String writes value and unit, with exactly Places digits after the point.
func (s Shown) String() string {
	text := strconv.FormatFloat(s.Value, 'f', s.Places, 64)
	if s.Unit != "" {
		text += " " + s.Unit
	}
	return text
}

// mostPlaces bounds the digits after the point: no scale is finer than 24 bit.
const mostPlaces = 12

// shown rounds a value on a scale on which neighbouring codes are at least step
// apart.
func shown(value, step float64, unit string) Shown {
	return rounded(value, placesOf(step), unit)
}

func rounded(value float64, places int, unit string) Shown {
	p := math.Pow10(places)
	// Adding 0 takes the sign off a zero.
	return Shown{Value: math.Round(value*p)/p + 0, Unit: unit, Places: places}
}

// placesOf counts the digits after the point so that a last digit is not larger
// than a step.
func placesOf(step float64) int {
	step = math.Abs(step) * (1 + 1e-9) // a step of 0.1 is one of 0.1
	for p := range mostPlaces {
		if math.Pow10(-p) <= step {
			return p
		}
	}
	return mostPlaces
}
