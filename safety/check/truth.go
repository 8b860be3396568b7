package check

import (
	"math"

	"trueup/safety"
)

// Truth is the light, 0..1, that a dimmer or an emitter (Slots[slot] of a head)
// truly gives at a share 0..1 of its code range, whatever its curve says.
type Truth func(h *safety.Head, slot int, share float64) float64

// spread is how far a true exponent may lie from the declared one, either way.
const spread = 0.10

// family is what lamps may truly be, by the written limits: each response to a
// power within the spread of 1; where no curve was given, a straight line, a cube,
// an S, and whatever is at most twice as steep as a straight line. Flashes are promised
// for lamps that all err alike: where each is another, only speed is judged.
var family = []struct {
	name  string
	truth Truth
}{
	{"as declared", bent(1, 1, func(x float64) float64 { return x })},
	{"low exponents", bent(1-spread, 1-spread, func(x float64) float64 { return math.Pow(x, 0.9) })},
	{"high exponents", bent(1+spread, 1+spread, func(x float64) float64 { return math.Pow(x, 3.3) })},
	{"early dimmer", bent(1-spread, 1+spread, func(x float64) float64 { return math.Min(1, 2*x) })},
	{"late dimmer", bent(1+spread, 1-spread, func(x float64) float64 { return math.Max(0, 2*x-1) })},
	{eachAnother, func(h *safety.Head, slot int, share float64) float64 {
		r := &h.Slots[slot]
		some := 2654435761 * (31*uint32(h.Slots[0].Slots[0]) + uint32(r.Kind)) // the emitters of a head alike
		e := 1 - spread + 2*spread*float64(some>>16)/65535
		if r.Curve == nil {
			return math.Pow(share*share*(3-2*share), e)
		}
		return math.Pow(through(r.Curve, share), e)
	}},
}

const eachAnother = "each another"

// bent is a truth with one exponent over the declared curves of dimmers, another
// over those of emitters, and a law for where none was declared.
func bent(dimmers, emitters float64, unknown func(float64) float64) Truth {
	return func(h *safety.Head, slot int, share float64) float64 {
		r := &h.Slots[slot]
		switch {
		case r.Curve == nil:
			return unknown(share)
		case r.Kind == safety.Dimmer:
			return math.Pow(through(r.Curve, share), dimmers)
		}
		return math.Pow(through(r.Curve, share), emitters)
	}
}

// declared is the light by the curve that was given; without one it is the code.
func declared(h *safety.Head, slot int, share float64) float64 {
	return through(h.Slots[slot].Curve, share)
}
