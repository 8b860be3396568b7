package law

import "math"

// Line is a scale that is linear from From at Lo to To at Hi, in any unit;
// either may be the larger one.
type Line struct {
	Range
	From, To float64
}

// At gives the nominal value of a code.
func (l Line) At(code uint32) float64 { return l.From + l.Fraction(code)*(l.To-l.From) }

// ValueOf gives the nominal value at a fraction of the scale.
func (l Line) ValueOf(fraction float64) float64 { return l.From + fraction*(l.To-l.From) }

// FractionOf is the inverse of ValueOf, not held to 0..1.
func (l Line) FractionOf(value float64) float64 { return (value - l.From) / (l.To - l.From) }

// CodeOf gives the code whose nominal value is nearest.
func (l Line) CodeOf(value float64) uint32 { return l.Code(l.FractionOf(value)) }

func (l Line) step() float64 { return (l.To - l.From) / float64(max(l.Hi-l.Lo, 1)) }

// Axis is a scale of CIE 1931 x or y.
type Axis struct {
	Line
	Name string // "x" or "y"
}

// Shown tells the coordinate.
func (a Axis) Shown(code uint32) Shown { return shown(a.At(code), a.step(), a.Name) }

// CodeShown gives the code of a coordinate.
func (a Axis) CodeShown(value float64) uint32 { return a.CodeOf(value) }

// Hue is a scale in degrees: red 0, green 120, blue 240. It may run either way
// and begin anywhere.
type Hue struct{ Line }

// TurnsOf gives the hue in turns at a fraction of the scale.
func (h Hue) TurnsOf(fraction float64) float64 {
	return h.From/360 + fraction*((h.To-h.From)/360)
}

// CodeOf gives the code whose nominal hue is nearest round the circle. A hue on
// the scale (within half a code of it) is taken as it stands; so 360 is the end
// of a scale from 0 to 360.
func (h Hue) CodeOf(degrees float64) uint32 {
	lo, hi := min(h.From, h.To), max(h.From, h.To)
	if math.IsNaN(degrees) || math.IsInf(degrees, 0) {
		return h.Lo
	}
	if half := math.Abs(h.step()) / 2; degrees < lo-half || degrees > hi+half {
		degrees = lo + math.Mod(math.Mod(degrees-lo, 360)+360, 360)
		if degrees > hi && degrees-hi > lo+360-degrees {
			degrees = lo
		}
	}
	return h.Line.CodeOf(degrees)
}

// Shown tells degrees on the scale's own count.
func (h Hue) Shown(code uint32) Shown { return shown(h.At(code), h.step(), "°") }

// CodeShown gives the code of a hue in degrees.
func (h Hue) CodeShown(value float64) uint32 { return h.CodeOf(value) }

// Saturation is a scale of saturation, 0..1.
type Saturation struct{ Line }

// Shown tells percent.
func (s Saturation) Shown(code uint32) Shown { return shown(100*s.At(code), 100*s.step(), "%") }

// CodeShown gives the code of a percentage.
func (s Saturation) CodeShown(value float64) uint32 { return s.CodeOf(value / 100) }
