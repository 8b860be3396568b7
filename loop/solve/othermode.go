package solve

import (
	"fmt"
	"slices"
)

// A lamp in another mode of its menu takes its parameters from other slots than the rig has them in, and may have others: as the profile has it, where it lists that mode, or, as most
// fixtures have it, with one slot for each parameter in a mode of 8 bit and two in one of 16, in the same order. Its light is then foretold as that of a
// lamp at another address, and the match ends where that is believed.

// inOtherModes lists the stories of a lamp that is set to another mode; none where the slots of its channels are not known.
func inOtherModes(s *Spec) (all []rival) {
	if !patched(s) {
		return nil
	}
	known := []Spec{*s}
	tell := func(name string, lamp Spec, looks string) {
		same := func(o Spec) bool {
			return o.Kind == lamp.Kind && slices.EqualFunc(o.Channels, lamp.Channels, func(a, b Channel) bool { return slices.Equal(a.Slots, b.Slots) })
		}
		if !patched(&lamp) || slices.ContainsFunc(known, same) {
			return
		}
		known = append(known, lamp)
		all = append(all, rival{name: modeName + " " + name, cause: AnotherMode, spec: lamp, elsewhere: true, why: looks + "; set the lamp to the mode that the rig has, or the rig to the lamp's"})
	}
	for _, m := range s.Modes {
		tell(m.Name, m, fmt.Sprintf("it looks to be in its mode %q: the light responds as it does there", m.Name))
	}
	tell("8 bit", packed(s), "it looks to be in a mode of 8 bit: the light responds as if each of its parameters had one slot, one right after another")
	tell("16 bit", spread(s), "it looks to be in a mode of 16 bit: the light responds as if each of its parameters had two slots")
	return all
}

// patched tells whether the slots of all channels are known.
func patched(s *Spec) bool {
	return len(s.Channels) > 0 && !slices.ContainsFunc(s.Channels, func(c Channel) bool { return len(c.Slots) == 0 })
}

// packed is a head in a mode that has the coarse slots alone.
func packed(s *Spec) Spec {
	fine := map[int]bool{}
	for i := range s.Channels {
		for _, at := range s.Channels[i].Slots[1:] {
			fine[at] = true
		}
	}
	return onSlots(s, func(i int) []int {
		at := s.Channels[i].Slots[0]
		to := at
		for k := range at {
			if fine[k] {
				to--
			}
		}
		return []int{to}
	})
}

// spread is a head in a mode that has a fine slot for each channel that has none.
func spread(s *Spec) Spec {
	coarse := map[int]bool{}
	for i := range s.Channels {
		if c := &s.Channels[i]; len(c.Slots) == 1 {
			coarse[c.Slots[0]] = true
		}
	}
	return onSlots(s, func(i int) []int {
		at := s.Channels[i].Slots[0]
		to := at
		for k := range at {
			if coarse[k] {
				to++
			}
		}
		return []int{to, to + 1}
	})
}
