package solve

import (
	"fmt"
	"slices"
)

// A lamp whose own address is not the rig's takes the values of other slots. Where it is off by a slot or two most of these are the
// lamp's own: its dimmer takes what is meant for an emitter, or a coarse byte what is meant for a fine one. The same head, driven by what it finds in its slots, is a
// story as every other: it foretells the light from the codes that were sent. It is no story to match by, so the match ends where it is believed.

// AddressReach is how many slots a lamp's address may be off to be told by its light.
const AddressReach = 2

// misaddressed lists the stories of a lamp that listens elsewhere; none where the slots of its channels are not known.
func misaddressed(s *Spec) (all []rival) {
	if slices.ContainsFunc(s.Channels, func(c Channel) bool { return len(c.Slots) == 0 }) {
		return nil
	}
	for off := -AddressReach; off <= AddressReach; off++ {
		if off != 0 && (s.Address == 0 || s.Address+off >= 1) {
			all = append(all, rival{name: fmt.Sprintf("%s %+d", addressName, off), cause: WrongAddress, spec: *s, takes: shifted(s, off), why: wrongAddress(s, off)})
		}
	}
	return all
}

// wrongAddress says by how much the address is off, and what to do.
func wrongAddress(s *Spec, off int) string {
	n, way, from := off, "high", "next one"
	if off < 0 {
		n, way, from = -off, "low", "one before"
	}
	slots := "1 slot"
	if n > 1 {
		slots, from = fmt.Sprintf("%d slots", n), fmt.Sprintf("%s but %d", from, n-1)
	}
	does := fmt.Sprintf("its address looks %s too %s: the light responds as if each of its slots had the value of the %s", slots, way, from)
	if s.Address == 0 {
		return does + "; look at the address on the lamp"
	}
	return fmt.Sprintf("%s; set the lamp to address %d, as the rig has it, or the rig to %d, where it seems to stand", does, s.Address, s.Address+off)
}

// shifted are the slots of the channels, so many further up.
func shifted(s *Spec, off int) (all [][]int) {
	for i := range s.Channels {
		var at []int
		for _, slot := range s.Channels[i].Slots {
			at = append(at, slot+off)
		}
		all = append(all, at)
	}
	return all
}

// finds are the codes that a head finds in the slots from which a story has it take its channels. A channel without any stands at full. What a channel finds in more or
// fewer slots than its own is the same part of its whole range.
func (m *Match) finds(takes [][]int, sent Drive, around []byte) Drive {
	slots := make([]byte, max(len(around), m.spec.Footprint()+2*AddressReach))
	copy(slots, around)
	for i := range m.spec.Channels {
		at := m.spec.Channels[i].Slots
		for k, code := len(at)-1, sent[i]; k >= 0; k, code = k-1, code>>8 {
			slots[AddressReach+at[k]] = byte(code)
		}
	}
	out := make(Drive, len(sent))
	for i, from := range takes {
		found, full := uint64(0), uint64(0)
		for _, at := range from {
			b := byte(0)
			if k := AddressReach + at; k >= 0 && k < len(slots) {
				b = slots[k]
			}
			found, full = found<<8|uint64(b), full<<8|0xff
		}
		if out[i] = m.spec.Channels[i].Max; full > 0 {
			out[i] = uint32((found*uint64(out[i]) + full/2) / full)
		}
	}
	return out
}

// taking are the fractions that a head takes of codes that were sent, by the story that is believed.
func (m *Match) taking(sent Drive, around []byte) []float64 {
	if m.as != nil && m.as.takes != nil {
		sent = m.finds(m.as.takes, sent, around)
	}
	return m.fractions(sent)
}

// litInTheDark tells whether a head, by the story of its slots that is believed, gave as much light when it was to be dark as at a reading that showed its own:
// then nothing would have been left of that.
func (m *Match) litInTheDark() bool {
	if m.as == nil || m.as.takes == nil || !m.sum.LevelKnown {
		return false
	}
	lead := &m.sum.Lead().State
	return slices.ContainsFunc(m.log.taken, func(t taken) bool {
		if len(t.r.Dark) != len(m.spec.Channels) {
			return false
		}
		lit, dark := m.sum.Filter.Predict(lead, t.sent), m.sum.Filter.Predict(lead, m.taking(t.r.Dark, t.r.Around))
		return dark[2] > lit[2]-darkLess
	})
}
