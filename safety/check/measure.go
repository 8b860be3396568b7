package check

import (
	"math"

	"trueup/safety"
)

// state is what a head gives at one frame.
type state struct {
	light  float64
	axes   []float64 // dimmer and emitters: light of the axis; colour: share of range; else 0
	out    []float64 // emitters: axis times dimmer
	u, v   float64
	red    bool
	colour bool // u, v and red mean something
}

// code of a parameter in a frame.
func code(frame []byte, r safety.SlotRule) uint64 {
	var v uint64
	for _, s := range r.Slots {
		v = v*256 + uint64(frame[s-1])
	}
	return v
}

// scaleOf a parameter: its lowest code, and how many it spans.
func scaleOf(r safety.SlotRule) (low, span float64) {
	if r.Hi == 0 {
		return 0, float64(r.Max)
	}
	return float64(r.Lo), float64(r.Hi - r.Lo)
}

// shareOf its scale that a code is: below 0 or above 1 beyond its ends.
func shareOf(code uint64, r safety.SlotRule) float64 {
	low, span := scaleOf(r)
	return (float64(code) - low) / span
}

// through a curve: straight between its points; without one, light is the code.
func through(curve safety.Curve, share float64) float64 {
	if share >= 1 {
		return 1
	}
	if curve == nil {
		return share
	}
	place := share * float64(len(curve)-1)
	low := math.Floor(place)
	rest := place - low
	i := int(low)
	return curve[i]*(1-rest) + curve[i+1]*rest
}

// measure a head in a frame, by what its dimmer and emitters truly give; with
// above, as if every code were one higher.
func (h *watched) measure(frame []byte, above bool, truth Truth) state {
	n := len(h.spec.Slots)
	st := state{axes: make([]float64, n), out: make([]float64, n)}
	dim, emitters, weights := 1.0, 0, 0.0
	for i, r := range h.spec.Slots {
		k := code(frame, r)
		if above {
			k++
		}
		share := shareOf(k, r)
		if r.Kind != safety.Colour {
			share = math.Min(math.Max(share, 0), 1)
		}
		switch r.Kind {
		case safety.Dimmer:
			dim = truth(h.spec, i, share)
			st.axes[i] = dim
		case safety.Emitter:
			emitters++
			weights += r.Weight
			st.axes[i] = truth(h.spec, i, share)
		case safety.Colour:
			st.axes[i] = share
		}
	}
	if emitters == 0 {
		st.light = dim
		return st
	}
	var X, Y, Z float64
	for i, r := range h.spec.Slots {
		if r.Kind != safety.Emitter {
			continue
		}
		w := 1 / float64(emitters)
		if weights > 0 {
			w = r.Weight / weights
		}
		st.out[i] = st.axes[i] * dim
		y := w * st.out[i]
		st.light += y
		u, v := r.U, r.V
		if u == 0 && v == 0 { // nobody said: taken for deep red
			u, v = 0.53, 0.517
		}
		X += y * 2.25 * u / v
		Y += y
		Z += y * (3 - 0.75*u - 5*v) / v
	}
	if Y <= 0 {
		return st
	}
	all := X + 15*Y + 3*Z
	st.u, st.v = 4*X/all, 9*Y/all
	st.colour = st.light >= 0.002 // darker than that nobody sees a colour
	// Linear sRGB of IEC 61966-2-1, negative parts taken as none.
	R := math.Max(0, 3.2406*X-1.5372*Y-0.4986*Z)
	G := math.Max(0, -0.9689*X+1.8758*Y+0.0415*Z)
	B := math.Max(0, 0.0557*X-0.2040*Y+1.0570*Z)
	st.red = R > 0 && R/(R+G+B) >= 0.8
	return st
}
