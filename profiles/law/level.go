package law

// Level is the scale of an emitter or a dimmer: dark at Lo, full at Hi, and the
// light between by a response curve. People are told its percent of the scale.
type Level struct {
	Range
	Curve Curve `json:"curve"`
}

// Light is the fraction of full light at a code.
func (l Level) Light(code uint32) float64 { return l.Curve.Light(l.Fraction(code)) }

// CodeOf gives the code whose light is nearest, counted in drive.
func (l Level) CodeOf(light float64) uint32 { return l.Code(l.Curve.Drive(light)) }

// Shown tells percent of the scale, as a desk or a menu counts a level.
func (l Level) Shown(code uint32) Shown { return percent(l.Range, code) }

// CodeShown gives the code of a percentage.
func (l Level) CodeShown(value float64) uint32 { return l.Code(value / 100) }

func percent(r Range, code uint32) Shown {
	return shown(100*r.Fraction(code), 100/float64(max(r.Hi-r.Lo, 1)), "%")
}
