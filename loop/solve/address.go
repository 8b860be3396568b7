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
	if !patched(s) {
		return nil
	}
	for off := -AddressReach; off <= AddressReach; off++ {
		if off != 0 && (s.Address == 0 || s.Address+off >= 1) {
			all = append(all, rival{name: fmt.Sprintf("%s %+d", addressName, off), cause: WrongAddress, spec: shifted(s, off), elsewhere: true, why: wrongAddress(s, off)})
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

// shifted is a head that takes its channels from slots so many further up.
func shifted(s *Spec, off int) Spec {
	return onSlots(s, func(i int) (all []int) {
		for _, at := range s.Channels[i].Slots {
			all = append(all, at+off)
		}
		return all
	})
}

// onSlots is a head that takes each of its channels from other slots.
func onSlots(s *Spec, of func(channel int) []int) Spec {
	out := *s
	out.Modes, out.Channels = nil, slices.Clone(s.Channels)
	for i := range out.Channels {
		out.Channels[i].Slots = of(i)
	}
	return out
}

// finds are the codes that a lamp finds in its slots where those of a rig carry what was sent, and those beside what is around. What a channel finds in more or
// fewer slots than its codes take is the same part of its whole range.
func finds(lamp, rig *Spec, sent Drive, around []byte) Drive {
	slots := make([]byte, max(len(around), rig.Footprint()+2*AddressReach))
	copy(slots, around)
	for i := range rig.Channels {
		at := rig.Channels[i].Slots
		for k, code := len(at)-1, sent[i]; k >= 0; k, code = k-1, code>>8 {
			slots[AddressReach+at[k]] = byte(code)
		}
	}
	out := make(Drive, len(lamp.Channels))
	for i := range lamp.Channels {
		found, full := uint64(0), uint64(0)
		for _, at := range lamp.Channels[i].Slots {
			b := byte(0)
			if k := AddressReach + at; k >= 0 && k < len(slots) {
				b = slots[k]
			}
			found, full = found<<8|uint64(b), full<<8|0xff
		}
		if full > 0 {
			out[i] = uint32((found*uint64(lamp.Channels[i].Max) + full/2) / full)
		}
	}
	return out
}

// taking are the fractions that a head takes of codes that were sent, by the story that this match is of.
func (m *Match) taking(sent Drive, around []byte) []float64 {
	if m.rig != nil {
		sent = finds(&m.spec, m.rig, sent, around)
	}
	return m.fractions(sent)
}

// litInTheDark tells whether a head, by the story of its slots that is believed, gave as much light when it was to be dark as at a reading that showed its own:
// then nothing would have been left of that.
func (m *Match) litInTheDark() bool {
	if m.rig == nil || !m.sum.LevelKnown {
		return false
	}
	lead := &m.sum.Lead().State
	return slices.ContainsFunc(m.log.taken, func(t taken) bool {
		if len(t.r.Dark) != len(m.rig.Channels) {
			return false
		}
		lit, dark := m.sum.Filter.Predict(lead, t.sent), m.sum.Filter.Predict(lead, m.taking(t.r.Dark, t.r.Around))
		return dark[2] > lit[2]-darkLess
	})
}
