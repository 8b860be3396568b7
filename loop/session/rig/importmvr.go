package rig

import (
	"fmt"
	"slices"
	"strings"

	"trueup/dmx"
	"trueup/profiles"
	"trueup/profiles/mvr"
)

// PlanProfile is the profile that stands for a type of a plan. A nil Mode means
// that there is none, and Problem says why.
type PlanProfile struct {
	File     string // as the rig file writes it
	Mode     *profiles.Mode
	ModeName string // as the rig file writes it; empty where the profile has one mode
	Problem  string
	Notes    []string // what was guessed of it
}

// PlanResult is a rig drafted from a plan.
type PlanResult struct {
	Draft Draft
	// Left are the fixtures that are not in it, by the reason.
	Left []LeftOut
	// House is the number of house lights, whose slots are locked.
	House int
}

// LeftOut are fixtures that a draft does not have.
type LeftOut struct {
	Reason   string
	Fixtures []string // name, address and desk channel, as text
}

// planner makes a draft of a plan.
type planner struct {
	plan     *mvr.Plan
	profiles []PlanProfile
	names    []string
	owner    map[dmx.Universe]*slotOwners
	said     map[int]bool // types whose guesses stand at a fixture already
	kept     map[int]bool // fixtures of the plan that are in the draft
	partly   map[int]bool // those of them with heads that are not worked on
	out      PlanResult
}

// slotOwners says whose a slot is: the index of its fixture + 1, or -1 for house
// light.
type slotOwners [dmx.SlotsPerUniverse + 1]int

func (b *planner) slots(u dmx.Universe) *slotOwners {
	if b.owner[u] == nil {
		b.owner[u] = new(slotOwners)
	}
	return b.owner[u]
}

// FromPlan drafts a rig from a plan; profiles holds one for each of its types.
// A fixture that a rig can not have is left out with its reason, so that the
// draft is a rig as it stands: one without a profile, with an address that can
// not be, or on slots that are another's.
func FromPlan(name string, p *mvr.Plan, profiles []PlanProfile) PlanResult {
	b := &planner{plan: p, profiles: profiles, names: planNames(p.Fixtures), owner: map[dmx.Universe]*slotOwners{}, said: map[int]bool{}, kept: map[int]bool{}, partly: map[int]bool{}}
	if b.out.Draft.Name = lampName(name); b.out.Draft.Name == "" {
		b.out.Draft.Name = "rig"
	}
	for i := range p.Fixtures {
		if p.Fixtures[i].House {
			b.house(i)
		}
	}
	for i := range p.Fixtures {
		if !p.Fixtures[i].House {
			b.fixture(i)
		}
	}
	b.groups()
	b.overlay()
	return b.out
}

// house locks the slots of a house light.
func (b *planner) house(i int) {
	f := &b.plan.Fixtures[i]
	b.out.House++
	if !f.Address.Valid() {
		b.leave(i, "house lights, without an address that could be locked: if one is on the network, add its slots under locked")
		return
	}
	t := &b.plan.Types[f.Type]
	n, reason := t.Footprint, "house lights: their slots are locked, and never sent"
	if n == 0 {
		n, reason = 1, fmt.Sprintf("house lights, and it is not known how many slots they have (%s): only the first is locked; add the others", t.Problem)
	}
	span := dmx.Span{Universe: f.Address.Universe, First: f.Address.Slot, Last: dmx.Slot(min(int(f.Address.Slot)+n-1, dmx.SlotsPerUniverse))}
	b.out.Draft.Locked = append(b.out.Draft.Locked, span)
	for s := span.First; s <= span.Last; s++ {
		b.slots(span.Universe)[s] = -1
	}
	b.leave(i, reason)
}

// fixture puts one fixture into the draft, or leaves it out with the reason.
func (b *planner) fixture(i int) {
	f := &b.plan.Fixtures[i]
	p := &b.profiles[f.Type]
	if p.Mode == nil {
		b.leave(i, p.Problem)
		return
	}
	x := DraftFixture{Name: b.names[i], Profile: p.File, Mode: p.ModeName, DeskChannel: lampName(f.ID), Comment: slices.Clone(f.Notes)}
	if !b.said[f.Type] {
		b.said[f.Type] = true
		x.Comment = append(slices.Clone(p.Notes), x.Comment...)
	}
	switch {
	case p.Mode.Kind == profiles.Fixed:
		x.Fixed = true
	case p.Mode.ByHand:
		x.ByHand = true
	case f.Unreadable != "":
		b.leave(i, f.Unreadable)
		return
	case !f.Address.Valid():
		x.ByHand = true
		x.Comment = append(x.Comment, "not patched in the plan: write its address, or set it by hand")
	default:
		if reason := b.claim(i, p.Mode.Footprint); reason != "" {
			b.leave(i, reason)
			return
		}
		x.Address = f.Address
		if s := sharedParam(p.Mode); s != nil && p.Mode.Heads.Count > 1 {
			x.Heads = 1
			b.partly[i] = true
			x.Comment = append(x.Comment, fmt.Sprintf("its %d heads share %s: only the first one is worked on", p.Mode.Heads.Count, s.Name))
		}
	}
	b.kept[i] = true
	b.out.Draft.Fixtures = append(b.out.Draft.Fixtures, x)
}

// claim takes the slots of a fixture, or says whose they are.
func (b *planner) claim(i, slots int) string {
	a := b.plan.Fixtures[i].Address
	if last := int(a.Slot) + slots - 1; last > dmx.SlotsPerUniverse {
		return fmt.Sprintf("%d slots from %s would end at slot %d, and a universe ends at %d", slots, a, last, dmx.SlotsPerUniverse)
	}
	owner := b.slots(a.Universe)
	for k := range slots {
		s := dmx.Address{Universe: a.Universe, Slot: a.Slot + dmx.Slot(k)}
		switch o := owner[s.Slot]; {
		case o < 0:
			return fmt.Sprintf("it would take slot %s, which is a house light's", s)
		case o > 0 && b.plan.Fixtures[o-1].Address == a && b.plan.Fixtures[o-1].Type == b.plan.Fixtures[i].Type:
			return fmt.Sprintf("the same slots as %q: both take every level that is sent, and one of them is matched", b.names[o-1])
		case o > 0:
			return fmt.Sprintf("it would take slot %s, which is %q's", s, b.names[o-1])
		}
	}
	for k := range slots {
		owner[int(a.Slot)+k] = i + 1
	}
	return ""
}

func (b *planner) leave(i int, reason string) {
	f := &b.plan.Fixtures[i]
	text := fmt.Sprintf("%q", b.names[i])
	if f.Address.Valid() {
		text += " at " + f.Address.String()
	}
	if f.Unreadable != "" {
		text += fmt.Sprintf(" at %q", f.Written)
	}
	if f.ID != "" {
		text += ", desk channel " + f.ID
	}
	for j := range b.out.Left {
		if b.out.Left[j].Reason == reason {
			b.out.Left[j].Fixtures = append(b.out.Left[j].Fixtures, text)
			return
		}
	}
	b.out.Left = append(b.out.Left, LeftOut{reason, []string{text}})
}

// groups are the plan's positions, layers and group objects.
func (b *planner) groups() {
	members := map[string][]string{}
	for i := range b.plan.Fixtures {
		f := &b.plan.Fixtures[i]
		if !b.kept[i] {
			continue
		}
		for _, g := range append([]string{f.Layer, f.Position}, f.Groups...) {
			g = lampName(g)
			if n := len(members[g]); g == "" || n > 0 && members[g][n-1] == b.names[i] {
				continue // a layer may have the name of a position
			}
			members[g] = append(members[g], b.names[i])
		}
	}
	b.out.Draft.Groups = map[string][]string{}
	for _, g := range keys(members) {
		b.out.Draft.Groups[g] = ranges(members[g])
	}
}

// overlay asks for a desk where the rig's universes carry something of the
// plan that the rig does not set: sent by us alone it would be sent 0.
func (b *planner) overlay() {
	ours := map[dmx.Universe]bool{}
	for i := range b.kept {
		ours[b.plan.Fixtures[i].Address.Universe] = true
	}
	delete(ours, 0)
	why := ""
	for i := range b.plan.Fixtures {
		f := &b.plan.Fixtures[i]
		p := &b.profiles[f.Type]
		switch {
		case !b.kept[i] && ours[f.Address.Universe] && !b.covered(i):
			why = fmt.Sprintf("%s at %s is in the plan and not in this rig", b.names[i], f.Address)
		case slices.ContainsFunc(f.Others, func(a dmx.Address) bool { return ours[a.Universe] }):
			why = b.names[i] + " has a second address, which this rig does not set"
		case b.kept[i] && f.Address.Valid() && len(p.Mode.Unnamed()) > 0:
			why = fmt.Sprintf("%s has slots that its profile does not set, such as slot %d", b.names[i], p.Mode.Unnamed()[0])
		case b.partly[i]:
			why = b.names[i] + " has heads that this rig does not set"
		default:
			continue
		}
		b.out.Draft.Mode = Overlay
		b.out.Draft.ModeWhy = []string{why + ":", "the desk's levels pass through there. With mode: own it would be sent 0."}
		return
	}
}

// covered tells whether all slots of a fixture that was left out are those of
// fixtures in the draft, as far as its slots are known.
func (b *planner) covered(i int) bool {
	f := &b.plan.Fixtures[i]
	owner := b.slots(f.Address.Universe)
	for k := range max(1, b.plan.Types[f.Type].Footprint) {
		if s := int(f.Address.Slot) + k; s < len(owner) && owner[s] <= 0 {
			return false
		}
	}
	return true
}

// Comments writes what the draft leaves out, for the end of the rig file.
func (r *PlanResult) Comments(notes []string) []string {
	var out []string
	if len(r.Left) > 0 {
		out = append(out, "Of the plan, but not under fixtures:")
		for _, l := range r.Left {
			out = append(out, "  "+l.Reason)
			for _, f := range l.Fixtures {
				out = append(out, "    "+f)
			}
		}
	}
	if len(notes) > 0 {
		out = append(out, "Not understood in the plan:")
		for _, n := range notes {
			out = append(out, "  "+n)
		}
	}
	return out
}

// Summary says in a line for each reason what was left out.
func (l LeftOut) Summary() string {
	const most = 3
	shown := strings.Join(l.Fixtures[:min(most, len(l.Fixtures))], "; ")
	if n := len(l.Fixtures) - most; n > 0 {
		shown += fmt.Sprintf("; and %d more", n)
	}
	return l.Reason + ": " + shown
}
