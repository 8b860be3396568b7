package solve

import (
	"fmt"
	"slices"
)

// A lamp in another mode of its menu takes its parameters from other slots than the rig has them in: as the profile has it, where it lists that mode, or, as most
// fixtures have it, with one slot for each parameter in a mode of 8 bit and two in one of 16, in the same order. Its light is then foretold as that of a
// lamp at another address, and the match ends where that is believed.

// inOtherModes lists the stories of a lamp that is set to another mode; none where the slots of its channels are not known.
func inOtherModes(s *Spec) (all []rival) {
	if slices.ContainsFunc(s.Channels, func(c Channel) bool { return len(c.Slots) == 0 }) {
		return nil
	}
	known := [][][]int{shifted(s, 0)}
	tell := func(name string, takes [][]int, looks string) {
		same := func(a [][]int) bool { return slices.EqualFunc(a, takes, slices.Equal[[]int]) }
		if len(takes) != len(s.Channels) || slices.ContainsFunc(known, same) {
			return
		}
		known = append(known, takes)
		all = append(all, rival{name: modeName + " " + name, cause: AnotherMode, spec: *s, takes: takes, why: looks + "; set the lamp to the mode that the rig has, or the rig to the lamp's"})
	}
	for _, m := range s.Modes {
		tell(m.Name, m.Slots, fmt.Sprintf("it looks to be in its mode %q: the light responds as it does there", m.Name))
	}
	tell("8 bit", packed(s), "it looks to be in a mode of 8 bit: the light responds as if each of its parameters had one slot, one right after another")
	tell("16 bit", spread(s), "it looks to be in a mode of 16 bit: the light responds as if each of its parameters had two slots")
	return all
}

// packed are the slots of the channels in a mode that has the coarse ones alone.
func packed(s *Spec) [][]int {
	fine := map[int]bool{}
	for i := range s.Channels {
		for _, at := range s.Channels[i].Slots[1:] {
			fine[at] = true
		}
	}
	return moved(s, func(at int) []int {
		for k := range at {
			if fine[k] {
				at--
			}
		}
		return []int{at}
	})
}

// spread are the slots of the channels in a mode that has a fine one for each channel that has none.
func spread(s *Spec) [][]int {
	coarse := map[int]bool{}
	for i := range s.Channels {
		if c := &s.Channels[i]; len(c.Slots) == 1 {
			coarse[c.Slots[0]] = true
		}
	}
	return moved(s, func(at int) []int {
		to := at
		for k := range at {
			if coarse[k] {
				to++
			}
		}
		return []int{to, to + 1}
	})
}

// moved are the slots of the channels, each where to has its first.
func moved(s *Spec, to func(first int) []int) (all [][]int) {
	for i := range s.Channels {
		all = append(all, to(s.Channels[i].Slots[0]))
	}
	return all
}
