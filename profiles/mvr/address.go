package mvr

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"trueup/dmx"
	"trueup/profiles/xmltree"
)

// addresses takes the address of the lowest break: breaks are met that begin
// at 0 and at 1, and a draft knows the first one only.
func (s *scene) addresses(list []*xmltree.Node, f *Fixture) {
	type entry struct {
		brk  int
		text string
	}
	var all []entry
	for _, n := range list {
		brk, err := strconv.Atoi(strings.TrimSpace(n.Or("break", "0")))
		if err != nil || brk < 0 || brk > 1<<16 {
			f.note("line %d: an address of break %q is left out", n.Line, xmltree.Clip(n.Get("break")))
			continue
		}
		if slices.ContainsFunc(all, func(e entry) bool { return e.brk == brk }) {
			f.note("line %d: a second address of break %d is left out", n.Line, brk)
			continue
		}
		all = append(all, entry{brk, n.Text})
	}
	if len(all) == 0 {
		return
	}
	slices.SortFunc(all, func(a, b entry) int { return a.brk - b.brk })
	address, err := parseAddress(all[0].text, s.options.UniverseOffset)
	if err != nil {
		f.Unreadable, f.Written = err.Error(), clean(all[0].text)
	}
	f.Address = address
	for _, e := range all[1:] {
		a, err := parseAddress(e.text, s.options.UniverseOffset)
		if a.Valid() {
			f.Others = append(f.Others, a)
		}
		if err != nil || a.Valid() {
			f.note("it has an address of its own for break %d, %s: a draft knows the first break only", e.brk, xmltree.Clip(e.text))
		}
	}
}

// parseAddress reads an address of a plan: an absolute one, that counts the
// slots of all universes from 1, or universe.slot. Empty and 0 mean that there
// is none, and give the zero Address.
func parseAddress(text string, offset int) (dmx.Address, error) {
	text = strings.TrimSpace(text)
	wrong := func(format string, args ...any) (dmx.Address, error) {
		return dmx.Address{}, fmt.Errorf("its address can not be used: "+format, args...)
	}
	before, after, dotted := strings.Cut(text, ".")
	u, err := number(before)
	slot := 0
	if err == nil && dotted {
		slot, err = number(after)
	}
	if err != nil {
		if text == "" {
			return dmx.Address{}, nil
		}
		return wrong("want one number, or universe.slot")
	}
	if !dotted && u > 0 {
		u, slot = (u-1)/dmx.SlotsPerUniverse+1, (u-1)%dmx.SlotsPerUniverse+1
	}
	if slot == 0 && (u == 0 || dotted) {
		return dmx.Address{}, nil
	}
	if slot > dmx.SlotsPerUniverse {
		return wrong("slot %d is not in 1..%d", slot, dmx.SlotsPerUniverse)
	}
	if u += offset; u == 0 && offset == 0 {
		return wrong("there is no universe 0; for a plan that counts from 0 give --universe-offset 1")
	}
	if u < 1 || u > dmx.MaxUniverse {
		return wrong("universe %d is not in 1..%d", u, dmx.MaxUniverse)
	}
	return dmx.Address{Universe: dmx.Universe(u), Slot: dmx.Slot(slot)}, nil
}

// number reads digits, with space around them.
func number(text string) (int, error) {
	n, err := strconv.ParseUint(strings.TrimSpace(text), 10, 31)
	return int(n), err
}
