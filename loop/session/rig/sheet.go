package rig

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"trueup/profiles"
)

// PatchRow is one line of the patch sheet, as text for people.
type PatchRow struct {
	Fixture string
	Slots   string // "1/101..112"; "by hand" or "fixed" where nothing is sent
	Profile string // its name, with the maker
	Mode    string
	Params  string // "dimmer, red, green 16 bit"
	Heads   int
	Desk    string // channel at the desk
	Probe   string
	Grid    string // "3,2" is column 3, row 2; empty where none was given
	Groups  string
	Level   string // wished for, and the cap that holds
	Line    int    // of the rig file
}

// PatchSheet lists the fixtures in patch order: by address, then those set by
// hand, then fixed ones, each in the order of the file.
func PatchSheet(r *Rig) []PatchRow {
	order := make([]*Fixture, len(r.Fixtures))
	for i := range r.Fixtures {
		order[i] = &r.Fixtures[i]
	}
	rank := func(f *Fixture) int {
		switch {
		case f.Fixed:
			return 2
		case f.ByHand:
			return 1
		}
		return 0
	}
	slices.SortStableFunc(order, func(a, b *Fixture) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)),
			cmp.Compare(a.Address.Universe, b.Address.Universe), cmp.Compare(a.Address.Slot, b.Address.Slot))
	})
	rows := make([]PatchRow, len(order))
	for i, f := range order {
		rows[i] = f.row()
	}
	return rows
}

func (f *Fixture) row() PatchRow {
	row := PatchRow{Fixture: f.Name, Mode: f.ModeName, Heads: f.Heads, Desk: f.DeskChannel, Probe: f.Probe,
		Groups: strings.Join(f.Groups, ", "), Line: f.Pos.Line}
	switch { // in a rig with faults a profile may be missing, and an address (LoadPartial)
	case f.Profile == nil:
		row.Profile = f.ProfilePath
	case f.Profile.Maker != "":
		row.Profile = f.Profile.Maker + " " + f.Profile.Name
	default:
		row.Profile = f.Profile.Name
	}
	switch {
	case f.Fixed:
		row.Slots = "fixed"
	case f.ByHand:
		row.Slots = "by hand"
	case !f.Address.Valid():
	case f.Footprint() == 0:
		row.Slots = f.Address.String()
	default:
		row.Slots = fmt.Sprintf("%s..%d", f.Address, f.Last().Slot)
	}
	if f.Mode != nil {
		row.Params = paramWords(f.Mode.Params())
	}
	if f.Grid != (Grid{}) {
		row.Grid = strconv.Itoa(f.Grid.Col) + "," + strconv.Itoa(f.Grid.Row)
	}
	if !f.Fixed {
		row.Level = percent(f.Level) + " (cap " + percent(f.LevelCap) + ")"
	}
	return row
}

// paramWords names parameters; how many bits neighbours have in common is said once, so that a sheet fits a page.
func paramWords(all []*profiles.Param) string {
	var groups []string
	for i, p := range all {
		if i > 0 && all[i-1].Bits() == p.Bits() {
			groups[len(groups)-1] += ", " + p.Name
		} else {
			groups = append(groups, p.Name)
		}
		if n := p.Bits(); n > 0 && (i+1 == len(all) || all[i+1].Bits() != n) {
			groups[len(groups)-1] += fmt.Sprintf(" %d bit", n)
		}
	}
	return strings.Join(groups, "; ")
}
