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
			all = append(all, rival{name: fmt.Sprintf("%s %+d", addressName, off), cause: WrongAddress, spec: *s, off: off, why: wrongAddress(s, off)})
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

// finds are the codes that a head finds in its slots, where it listens off slots further up than the rig has it.
func (m *Match) finds(off int, sent Drive, around []byte) Drive {
	slots := make([]byte, max(len(around), m.spec.Footprint()+2*AddressReach))
	copy(slots, around)
	for i := range m.spec.Channels {
		at := m.spec.Channels[i].Slots
		for k, code := len(at)-1, sent[i]; k >= 0; k, code = k-1, code>>8 {
			slots[AddressReach+at[k]] = byte(code)
		}
	}
	out := make(Drive, len(sent))
	for i := range m.spec.Channels {
		for _, at := range m.spec.Channels[i].Slots {
			out[i] = out[i]<<8 | uint32(slots[AddressReach+off+at])
		}
	}
	return out
}

// taking are the fractions that a head takes of codes that were sent, by the story that is believed.
func (m *Match) taking(sent Drive, around []byte) []float64 {
	if m.as != nil && m.as.off != 0 {
		sent = m.finds(m.as.off, sent, around)
	}
	return m.fractions(sent)
}

// litInTheDark tells whether a head, by the story of its address that is believed, gave as much light when it was to be dark as at a reading that showed its own:
// then nothing would have been left of that.
func (m *Match) litInTheDark() bool {
	if m.as == nil || m.as.off == 0 || !m.sum.LevelKnown {
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
