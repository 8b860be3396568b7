package session

import (
	"cmp"
	"slices"

	"trueup/loop/solve"
)

// settings tells a drive in the units of the fixture's own menu or manual: what
// a person dials at the fixture or types at a desk.
func (b *builder) settings(d solve.Drive) []Setting {
	if len(d) != len(b.params) {
		return nil
	}
	out := make([]Setting, len(d))
	for i, p := range b.params {
		shown := b.m.ScaleOf(p).Shown(d[i])
		out[i] = Setting{Name: p.Name, Value: shown.Value, Unit: shown.Unit}
		if p.Knob != nil {
			out[i].Name = p.Knob.Label
		}
	}
	return out
}

// held tells what else must stand for the drive to give its light: pinned slots
// and what all heads of the fixture share, as levels of their slots.
func (b *builder) held() []Setting {
	var out []Setting
	for _, p := range b.shared {
		shown := b.m.ScaleOf(p).Shown(p.Hi)
		out = append(out, Setting{Name: p.Name, Value: shown.Value, Unit: shown.Unit})
	}
	for _, p := range b.m.Pins {
		out = append(out, Setting{Name: p.Name, Value: float64(p.Level), Unit: "level"})
	}
	return out
}

// slots tells a drive as raw slots on the wire, in their order: the head's own
// parameters and all that must stand beside them, so that a lamp that is sent
// these and nothing else gives the light of the drive.
func (b *builder) slots(d solve.Drive) []SlotValue {
	if len(d) != len(b.params) {
		return nil
	}
	var out []SlotValue
	put := func(offsets []int, code uint32) {
		for k, s := range b.wire(offsets) {
			out = append(out, SlotValue{Universe: uint16(b.f.Address.Universe), Slot: uint16(s), Value: uint8(code >> (8 * (len(offsets) - 1 - k)))})
		}
	}
	for i, p := range b.params {
		put(b.m.HeadSlots(p, b.head), d[i])
	}
	for _, p := range b.shared {
		put(p.Slots, p.Hi)
	}
	for _, p := range b.m.Pins {
		put(b.shifted(p.Slots, p.EachHead), p.Level)
	}
	for _, n := range b.m.Never {
		for _, s := range b.shifted(n.Slots, n.EachHead) {
			put([]int{s}, uint32(n.Safe))
		}
	}
	slices.SortFunc(out, func(a, z SlotValue) int { return cmp.Compare(a.Slot, z.Slot) })
	return out
}
