package law

import "math"

// Knob is what a knob or a menu shows, in its own unit: code k shows From +
// k*Step, up to To.
type Knob struct {
	Label          string
	Unit           string
	From, To, Step float64 // Step is negative if From > To
}

// Codes counts the steps of the knob.
func (k Knob) Codes() Range { return Whole(uint32(math.Round((k.To - k.From) / k.Step))) }

// Shown tells what stands on the knob.
func (k Knob) Shown(code uint32) Shown {
	return rounded(k.From+float64(k.Codes().Clamp(code))*k.Step, max(decimals(k.From), decimals(k.Step)), k.Unit)
}

// CodeShown gives the code at which the knob shows the nearest value.
func (k Knob) CodeShown(value float64) uint32 {
	return k.Codes().Code((value - k.From) / (k.To - k.From))
}

// Dial is the knob and what to turn it to, such as "CCT 4300 K".
func (k Knob) Dial(code uint32) string { return k.Label + " " + k.Shown(code).String() }

// decimals counts the digits after the point that a figure needs, at most six.
func decimals(f float64) int {
	for d := range 6 {
		if s := f * math.Pow10(d); math.Abs(s-math.Round(s)) < 1e-6 {
			return d
		}
	}
	return 6
}
