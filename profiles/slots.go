package profiles

import (
	"cmp"
	"fmt"
	"slices"
)

func (r *reader) pins(at string, m *Mode, raw *fileMode) {
	for i, f := range raw.Set {
		here := fmt.Sprintf("%s.set[%d]", at, i)
		if n := len(f.Slots); n < 1 || n > 3 || r.doc.Failed(here) {
			continue
		}
		most := 1<<(8*len(f.Slots)) - 1
		if f.To > most {
			r.doc.Errorf(here+".to", "%s is held at %d: with %d slots a level is at most %d", f.Name, f.To, len(f.Slots), most)
			continue
		}
		m.Pins = append(m.Pins, Pin{Name: f.Name, Slots: f.Slots, Level: uint32(f.To), Why: f.Why, EachHead: f.EachHead, Path: here})
	}
	if s := raw.Shutter; s != nil && len(s.Slots) == 1 && !r.doc.Failed(at+".shutter") {
		r.shutter(at+".shutter", s)
		m.Pins = append(m.Pins, Pin{Name: "shutter", Slots: s.Slots, Level: uint32(s.Open), Why: "held open, not strobing", EachHead: s.EachHead, Path: at + ".shutter"})
	}
	for i, f := range raw.NeverTouch {
		here := fmt.Sprintf("%s.never_touch[%d]", at, i)
		if r.doc.Failed(here) {
			continue
		}
		m.Never = append(m.Never, Never{Name: f.Name, Slots: f.Slots, Safe: uint8(f.Safe), EachHead: f.EachHead, Path: here})
	}
}

// shutter checks that the open level is neither closed nor strobing.
func (r *reader) shutter(at string, s *fileShutter) {
	type span struct {
		lo, hi int
		what   string
	}
	var all []span
	for _, part := range []struct {
		key, what string
		spans     [][]int
	}{{"closed", "closed", s.Closed}, {"strobe", "strobing", s.Strobe}} {
		for i, p := range part.spans {
			here := fmt.Sprintf("%s.%s[%d]", at, part.key, i)
			if len(p) != 2 || p[0] > p[1] {
				r.doc.Errorf(here, "a range of levels is a pair [from, to], the lower one first")
				continue
			}
			for _, have := range all {
				if p[0] <= have.hi && have.lo <= p[1] {
					r.doc.Errorf(here, "levels %d to %d overlap with %d to %d (%s)", p[0], p[1], have.lo, have.hi, have.what)
				}
			}
			if s.Open >= p[0] && s.Open <= p[1] {
				r.doc.Errorf(at+".open", "at %d the shutter is %s (levels %d to %d)", s.Open, part.what, p[0], p[1]).
					Advise("give a level at which it is open")
			}
			all = append(all, span{p[0], p[1], part.what})
		}
	}
}

// claim is what one thing in the file takes of the footprint.
type claim struct {
	path, name string
	slots      []int
	each       bool // repeats with the heads
}

// claims lists all uses of slots in the order of the file, so that of two that
// overlap the lower one is blamed.
func (r *reader) claims(m *Mode) []claim {
	var all []claim
	for _, p := range m.Params() {
		all = append(all, claim{p.Path + ".slots", p.Name, p.Slots, !p.Common})
	}
	for _, p := range m.Pins {
		all = append(all, claim{p.Path + ".slots", p.Name, p.Slots, p.EachHead})
	}
	for _, n := range m.Never {
		all = append(all, claim{n.Path + ".slots", n.Name, n.Slots, n.EachHead})
	}
	slices.SortStableFunc(all, func(a, b claim) int {
		al, ac := r.doc.Place(a.path)
		bl, bc := r.doc.Place(b.path)
		return cmp.Or(cmp.Compare(al, bl), cmp.Compare(ac, bc))
	})
	return all
}

// slots checks that every slot lies in the footprint and has one use only.
func (r *reader) slots(at string, m *Mode) {
	if m.Footprint == 0 || r.doc.Failed(at+".slots") {
		return
	}
	used := map[int]string{}
	for _, c := range r.claims(m) {
		r.take(m, c, used)
	}
}

func (r *reader) take(m *Mode, c claim, used map[int]string) {
	for i, s := range c.slots {
		if slices.Contains(c.slots[:i], s) {
			r.doc.Errorf(c.path, "%s has slot %d twice", c.name, s)
			return
		}
	}
	heads := 1
	if c.each {
		heads = m.Heads.Count
	}
	for head := range heads {
		for _, s := range m.shift(c.slots, head) {
			switch other, taken := used[s]; {
			case s > m.Footprint && head > 0:
				r.doc.Errorf(c.path, "%s of head %d is slot %d: the mode has %d slots", c.name, head+1, s, m.Footprint).
					Advise("check slots, heads and stride; what all heads share is marked \"common: true\"")
				return
			case s > m.Footprint:
				r.doc.Errorf(c.path, "%s is slot %d: the mode has %d slots", c.name, s, m.Footprint)
				return
			case taken:
				r.doc.Errorf(c.path, "%s is slot %d, which is %s already", c.name, s, other).
					Advise("one slot has one use: check both with the manual")
				return
			}
			used[s] = c.name
		}
	}
}

// Unnamed lists the slots of the footprint that the profile says nothing of.
// They are sent 0 by a run that owns the universe, and pass through untouched
// in an overlay.
func (m *Mode) Unnamed() []int {
	named := make([]bool, m.Footprint+1)
	mark := func(slots []int, each bool) {
		heads := 1
		if each {
			heads = m.Heads.Count
		}
		for head := range heads {
			for _, s := range m.shift(slots, head) {
				if s <= m.Footprint {
					named[s] = true
				}
			}
		}
	}
	for _, p := range m.Params() {
		mark(p.Slots, !p.Common)
	}
	for _, p := range m.Pins {
		mark(p.Slots, p.EachHead)
	}
	for _, n := range m.Never {
		mark(n.Slots, n.EachHead)
	}
	var left []int
	for s := 1; s <= m.Footprint; s++ {
		if !named[s] {
			left = append(left, s)
		}
	}
	return left
}
