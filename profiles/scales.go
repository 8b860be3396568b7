package profiles

import (
	"trueup/colorcalc"
	"trueup/profiles/law"
)

// CCTParam is a colour temperature parameter: what its codes mean is said by
// Law, from the fields below.
type CCTParam struct {
	Param
	From, To colorcalc.Kelvin // at Lo and at Hi; From may be the higher one
	Mired    bool             // linear in mired instead of kelvin
	// Steps, if given, replace From and To: each range of codes is one colour
	// temperature. They ascend in code; Lo and Hi enclose them.
	Steps []law.Step
}

// Law is the scale of the parameter.
func (c *CCTParam) Law() law.CCT {
	return law.CCT{Range: c.Range, From: c.From, To: c.To, Mired: c.Mired, Steps: c.Steps}
}

// TintParam is a tint parameter: linear from From at code Lo to To at code Hi.
type TintParam struct {
	Param
	Unit law.TintUnit
	// From and To are Duv, converted from the unit of the file; where the unit
	// is unknown they are a wide guess.
	From, To colorcalc.Duv
	Guess    bool // the size of the scale is a guess
	SignOpen bool // so is its sign
}

// Law is the scale of the parameter.
func (t *TintParam) Law() law.Tint {
	return law.Tint{Range: t.Range, Unit: t.Unit, From: t.From, To: t.To}
}

// ScaleParam is a parameter linear from From at code Lo to To at code Hi.
type ScaleParam struct {
	Param
	From, To float64
}

// Line is the scale of the parameter without its unit.
func (s *ScaleParam) Line() law.Line {
	return law.Line{Range: s.Range, From: s.From, To: s.To}
}

// Level is the scale of an emitter or a dimmer.
func (p *Param) Level() law.Level { return law.Level{Range: p.Range, Curve: p.Curve} }

// ScaleOf says what the codes of one of the mode's parameters count, for people:
// what the knob of a mode set by hand shows, else the unit of the manual.
func (m *Mode) ScaleOf(p *Param) law.Scale {
	switch {
	case p.Knob != nil:
		return *p.Knob
	case m.CCT != nil && p == &m.CCT.Param:
		return m.CCT.Law()
	case m.Tint != nil && p == &m.Tint.Param:
		return m.Tint.Law()
	case m.X != nil && p == &m.X.Param:
		return law.Axis{Line: m.X.Line(), Name: "x"}
	case m.Y != nil && p == &m.Y.Param:
		return law.Axis{Line: m.Y.Line(), Name: "y"}
	case m.Hue != nil && p == &m.Hue.Param:
		return law.Hue{Line: m.Hue.Line()}
	case m.Sat != nil && p == &m.Sat.Param:
		return law.Saturation{Line: m.Sat.Line()}
	}
	return p.Level()
}
