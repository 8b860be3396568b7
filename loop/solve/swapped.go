package solve

import (
	"fmt"
	"slices"
)

// Two emitters on each other's slots are a story as every other, told the same readings, with all laws that a lamp may have and with
// readings that are wild. It is asked only where the profile's own does not fit at all, and where it is believed the match ends.

// exchanges lists the stories of two emitters that have each other's slots.
func exchanges(s *Spec) (all []rival) {
	if s.Kind != Emitters {
		return nil
	}
	for a := range s.Emitters {
		for b := a + 1; b < len(s.Emitters); b++ {
			all = append(all, rival{name: fmt.Sprintf("%s %d %d", exchangedName, a+1, b+1), cause: Swapped, spec: withExchanged(s, a, b),
				why: fmt.Sprintf("%s and %s look swapped: the light responds as if each had the other's slot (wrong mode or wrong order in the profile)", s.Emitters[a].Name, s.Emitters[b].Name)})
		}
	}
	return all
}

// withExchanged is a head of which emitters a and b have each other's slots.
func withExchanged(s *Spec, a, b int) Spec {
	out := *s
	out.Emitters = slices.Clone(s.Emitters)
	out.Emitters[a], out.Emitters[b] = s.Emitters[b], s.Emitters[a]
	out.Emitters[a].Codes, out.Emitters[b].Codes = s.Emitters[a].Codes, s.Emitters[b].Codes // those of the slots
	return out
}

// withoutAny tells whether a story stays well ahead of the present one without any one of the readings of this visit: no single one, wild in its
// level alone as it may be, is to hold a lamp.
func (m *Match) withoutAny(r *rival) bool {
	for k := range m.log.taken {
		if m.without(r, k).evidence() < m.without(m.as, k).evidence()+swapAlone {
			return false
		}
	}
	return true
}

// without is a match under another story that has heard all readings but the one with that index.
func (m *Match) without(r *rival, index int) *Match {
	o := m.begun(r)
	o.log.unseen = m.log.unseen
	for k := range m.log.taken {
		if k != index {
			o.take(&m.log.taken[k])
		}
	}
	return o
}

// twoDrives reports whether readings at two drives or more were taken, on this visit or one before.
func (m *Match) twoDrives() bool {
	if len(m.log.taken) > 0 && m.opt.Past.elsewhere(m.log.taken[0].r.Drive) {
		return true
	}
	for k := range m.log.taken {
		if !slices.Equal(m.log.taken[k].r.Drive, m.log.taken[0].r.Drive) {
			return true
		}
	}
	return len(m.log.taken) > 0 && slices.ContainsFunc(m.log.unseen, func(at unseen) bool { return !slices.Equal(at.drive, m.log.taken[0].r.Drive) })
}
