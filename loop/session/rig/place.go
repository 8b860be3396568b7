package rig

import (
	"slices"
	"strconv"
	"strings"

	"trueup/dmx"
)

// addresses gives every lamp of the entry its first slot. A lamp of a range
// that does not fit whole into what is left of a universe begins the next
// universe at slot 1, as desks patch.
func (r *reader) addresses(at string, raw *fileFixture, all []Fixture) {
	f := &all[0]
	if !f.Sent() {
		if raw.Address != "" {
			why := "fixed: nothing is sent to it"
			if f.ByHand {
				why = "set by hand: nothing is sent to it"
			}
			r.fault(at+".address", "fixture %q is %s", raw.Name, why).Advise("take the address out")
		}
		return
	}
	if raw.Address == "" {
		r.fault(at, "fixture %q has no address", raw.Name).Advise("write universe/slot, such as address: 1/101; or by_hand: true, or fixed: true")
		return
	}
	a, err := dmx.ParseAddress(raw.Address)
	if err != nil {
		r.fault(at+".address", "%v", err)
		return
	}
	size := 1
	if f.Mode != nil {
		size = max(1, f.Mode.Footprint)
	}
	if int(a.Slot)+size-1 > dmx.SlotsPerUniverse {
		r.fault(at+".address", "fixture %q: mode %q takes %d slots, from %s they would end at slot %d, and a universe ends at %d",
			all[0].Name, f.ModeName, size, a, int(a.Slot)+size-1, dmx.SlotsPerUniverse).
			Advise("the last address that fits is %d/%d", a.Universe, dmx.SlotsPerUniverse-size+1)
		return
	}
	step := size
	if raw.Step != nil {
		step = *raw.Step
		switch {
		case len(all) == 1:
			r.fault(at+".step", "step is for a range of fixtures, and %q is one fixture", raw.Name).Advise("take step out, or name a range such as wash 1..8")
		case step < size:
			r.fault(at+".step", "step %d: mode %q takes %d slots, so fixtures would overlap", step, f.ModeName, size).Advise("want %d or more", size)
			return
		}
	}
	for i := range all {
		if i > 0 {
			next, ok := dmx.Step(a, step, size)
			if !ok {
				r.fault(at+".address", "fixture %q would begin beyond the last universe, %d", all[i].Name, dmx.MaxUniverse)
				return
			}
			a = next
		}
		all[i].Address = a
	}
}

func (r *reader) channels(at string, raw *fileFixture, all []Fixture) {
	text := raw.DeskChannel
	if text == "" {
		if raw.DeskStep != nil {
			r.fault(at+".desk_step", "fixture %q has a step from desk channel to desk channel, and no desk channel", raw.Name).Advise("add desk_channel: or take desk_step: out")
		}
		return
	}
	if err := checkName(text); err != nil {
		r.fault(at+".desk_channel", "desk channel: %v", err)
		return
	}
	n, err := strconv.Atoi(text)
	if err != nil && len(all) > 1 {
		r.fault(at+".desk_channel", "desk channel %q: a range of fixtures needs a number to count up from, such as 101", text)
		return
	}
	step := 1
	if raw.DeskStep != nil {
		step = *raw.DeskStep
	}
	for i := range all {
		all[i].DeskChannel = text
		if err == nil {
			all[i].DeskChannel = strconv.Itoa(n + i*step)
		}
	}
}

func (r *reader) probesOf(at string, raw *fileFixture, all []Fixture) {
	known := r.probes()
	if raw.Probe == "" {
		if len(known) > 1 {
			r.fault(at, "fixture %q has no probe, and the feeds have several", raw.Name).Advise("add probe: with one of %s", strings.Join(known, ", "))
		} else if len(known) == 1 {
			for i := range all {
				all[i].Probe = known[0]
			}
		}
		return
	}
	s, err := parseSpan(raw.Probe)
	if err != nil {
		r.fault(at+".probe", "probe: %v", err)
		return
	}
	if s.is && s.count() != len(all) {
		r.fault(at+".probe", "probe %q is %d probes for %d fixtures", raw.Probe, s.count(), len(all)).Advise("want as many probes as fixtures, or one for all")
		return
	}
	for i := range all {
		all[i].Probe = s.name(i)
		if len(known) > 0 && !slices.Contains(known, all[i].Probe) {
			r.unknown(at+".probe", all[i].Probe, known, "no feed has a probe %q", all[i].Probe)
			return
		}
	}
}

func (r *reader) grid(at string, raw *fileFixture, all []Fixture) {
	g := raw.Grid
	if g == nil {
		return
	}
	if g.Col < 1 || g.Row < 1 {
		return // said already: the file's shape has the bounds
	}
	columns := len(all)
	if g.Columns != nil {
		columns = *g.Columns
		if len(all) == 1 {
			r.fault(at+".grid.columns", "columns is for a range of fixtures, and %q is one fixture", raw.Name).Advise("take columns out")
			return
		}
		if columns < 1 {
			return // said already
		}
	}
	for i := range all {
		all[i].Grid = Grid{Col: g.Col + i%columns, Row: g.Row + i/columns}
	}
}
