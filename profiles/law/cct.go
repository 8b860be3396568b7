package law

import (
	"math"

	"trueup/colorcalc"
)

// CCT is a scale of colour temperature: linear in kelvin, or in mired, from From
// at Lo to To at Hi; or steps.
type CCT struct {
	Range
	From, To colorcalc.Kelvin // From may be the higher one
	Mired    bool             // linear in mired instead of kelvin
	// Steps, if given, replace From and To. They ascend in code and enclose
	// Lo..Hi; gaps between them belong to the step below.
	Steps []Step
}

// Step is a range of codes that all mean one colour temperature.
type Step struct {
	Lo     uint32           `json:"lo"`
	Hi     uint32           `json:"hi"`
	Kelvin colorcalc.Kelvin `json:"kelvin"`
}

// At gives the nominal colour temperature of a code.
func (c CCT) At(code uint32) colorcalc.Kelvin {
	if len(c.Steps) > 0 {
		return c.stepFrom(float64(c.Clamp(code))).Kelvin
	}
	f := c.Fraction(code)
	if c.Mired {
		return colorcalc.Mired(c.MiredOf(f)).Kelvin()
	}
	return c.From + colorcalc.Kelvin(f)*(c.To-c.From)
}

// MiredOf gives the nominal reciprocal colour temperature, in mired, at a
// fraction of the scale.
func (c CCT) MiredOf(fraction float64) float64 {
	if len(c.Steps) > 0 {
		return float64(c.stepFrom(c.Place(fraction)).Kelvin.Mired())
	}
	if c.Mired {
		a, z := float64(c.From.Mired()), float64(c.To.Mired())
		return a + fraction*(z-a)
	}
	return 1e6 / (float64(c.From) + fraction*float64(c.To-c.From))
}

// stepFrom finds the step of a code; between two codes the nearer one counts.
func (c CCT) stepFrom(code float64) Step {
	k := 0
	for k < len(c.Steps)-1 && code >= float64(c.Steps[k+1].Lo)-0.5 {
		k++
	}
	return c.Steps[k]
}

// CodeOf gives the code whose nominal colour temperature is nearest, on the
// scale's own kelvin or mired; the middle of a step. Beyond the range it gives
// the end.
func (c CCT) CodeOf(t colorcalc.Kelvin) uint32 {
	if len(c.Steps) > 0 {
		best := c.Steps[0]
		for _, s := range c.Steps {
			if math.Abs(float64(s.Kelvin-t)) < math.Abs(float64(best.Kelvin-t)) {
				best = s
			}
		}
		return best.Lo + (best.Hi-best.Lo)/2
	}
	if c.Mired {
		a, z := float64(c.From.Mired()), float64(c.To.Mired())
		return c.Code((float64(t.Mired()) - a) / (z - a))
	}
	return c.Code(float64((t - c.From) / (c.To - c.From)))
}

// Shown tells kelvin; a step as it was given.
func (c CCT) Shown(code uint32) Shown {
	at := float64(c.At(code))
	if len(c.Steps) > 0 {
		places := 0
		for _, s := range c.Steps {
			places = max(places, decimals(float64(s.Kelvin)))
		}
		return rounded(at, places, "K")
	}
	step := math.Abs(float64(c.To-c.From)) / float64(max(c.Hi-c.Lo, 1))
	if c.Mired && c.Hi > c.Lo {
		// Equal in mired, the steps are smallest in kelvin at the warm end, and
		// the way to the middle of a step is a little less than half of it.
		warm, next := c.Lo, c.Lo+1
		if c.To < c.From {
			warm, next = c.Hi, c.Hi-1
		}
		step = 0.9 * math.Abs(float64(c.At(next)-c.At(warm)))
	}
	return shown(at, step, "K")
}

// CodeShown gives the code of a colour temperature in kelvin.
func (c CCT) CodeShown(value float64) uint32 { return c.CodeOf(colorcalc.Kelvin(value)) }
