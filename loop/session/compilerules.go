package session

import (
	"slices"

	"trueup/dmx"
	"trueup/profiles"
	"trueup/profiles/law"
	"trueup/safety"
)

// curveParts is how finely a response curve is tabled for the governor.
const curveParts = 256

// rules tells the governor what the head's slots do: the movable ones in the
// order of the mode's parameters, then what is pinned and what is never touched.
func (b *builder) rules() ([]safety.SlotRule, error) {
	var rules []safety.SlotRule
	for i, p := range b.params {
		r, err := b.movable(i, p)
		if err != nil {
			return nil, err
		}
		rules = append(rules, r)
	}
	// Weights are given for all emitters or for none.
	if slices.ContainsFunc(b.m.Emitters, func(e profiles.Emitter) bool { return e.Flux <= 0 }) {
		for k := range b.m.Emitters {
			rules[k].Weight = 0
		}
	}
	return append(rules, b.standing()...), nil
}

// movable is the rule of a parameter that this head moves.
func (b *builder) movable(i int, p *profiles.Param) (safety.SlotRule, error) {
	r := safety.SlotRule{Name: p.Name, Kind: safety.Colour, Slots: b.wire(b.m.HeadSlots(p, b.head)), Max: p.Max, Lo: p.Lo, Hi: p.Hi}
	switch {
	case i < len(b.m.Emitters):
		e := &b.m.Emitters[i]
		r.Kind, r.Weight, r.U, r.V, r.UV = safety.Emitter, e.Flux, e.UV.U, e.UV.V, e.Blind
		if e.Cap < 1 || e.Blind {
			r.Cap = e.Cap
		}
	case p == b.m.Dimmer:
		r.Kind = safety.Dimmer
	case b.m.Kind == profiles.XY || b.m.Kind == profiles.HueSat:
		r.Red = true
	}
	if (r.Kind == safety.Emitter || r.Kind == safety.Dimmer) && p.Curve.Law != law.Unknown {
		c, err := safety.CurveOf(curveParts, p.Curve.Light)
		if err != nil {
			return r, err
		}
		r.Curve = c
	}
	return r, nil
}

// standing are the rules of what does not move: shared, pinned, never touched. What all heads
// share belongs to the first.
func (b *builder) standing() (rules []safety.SlotRule) {
	mine := func(each bool) bool { return each || b.head == 0 }
	for _, p := range b.shared {
		if mine(false) {
			rules = append(rules, safety.SlotRule{Name: p.Name, Kind: safety.Pinned, Slots: b.wire(p.Slots), Max: p.Max, Safe: p.Hi})
		}
	}
	for _, p := range b.m.Pins {
		if mine(p.EachHead) {
			rules = append(rules, safety.SlotRule{Name: p.Name, Kind: safety.Pinned, Slots: b.wire(b.shifted(p.Slots, p.EachHead)),
				Max: uint32(1<<(8*len(p.Slots)) - 1), Safe: p.Level})
		}
	}
	for _, n := range b.m.Never {
		if !mine(n.EachHead) {
			continue
		}
		for _, s := range b.wire(b.shifted(n.Slots, n.EachHead)) {
			rules = append(rules, safety.SlotRule{Name: n.Name, Kind: safety.NeverTouch, Slots: []dmx.Slot{s}, Max: 255, Safe: uint32(n.Safe)})
		}
	}
	return rules
}

func (b *builder) shifted(slots []int, each bool) []int {
	if !each {
		return slots
	}
	out := make([]int, len(slots))
	for i, s := range slots {
		out[i] = s + b.head*b.m.Heads.Stride
	}
	return out
}

// wire turns offsets into the footprint into slots of the universe.
func (b *builder) wire(offsets []int) []dmx.Slot {
	out := make([]dmx.Slot, len(offsets))
	for i, o := range offsets {
		out[i] = b.f.Address.Slot + dmx.Slot(o) - 1
	}
	return out
}
