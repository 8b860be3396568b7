package rig

import (
	"fmt"
	"strings"

	"trueup/profiles"
)

func (r *reader) fixtures(raw []fileFixture) {
	first := map[string]Pos{}
	for i := range raw {
		at := fmt.Sprintf("$.fixtures[%d]", i)
		for _, f := range r.entry(at, &raw[i]) {
			if p, twice := first[f.Name]; twice && f.Name != "" {
				r.fault(at+".name", "a fixture named %q stands already in line %d", f.Name, p.Line).Advise("give every fixture a name of its own")
				continue
			}
			if len(r.rig.Fixtures) == maxFixtures {
				r.fault(at, "a rig has at most %d fixtures", maxFixtures)
				return
			}
			first[f.Name] = f.Pos
			r.rig.Fixtures = append(r.rig.Fixtures, f)
			r.paths = append(r.paths, at)
		}
	}
}

// entry reads one entry under fixtures: one lamp, or a range of equal lamps.
func (r *reader) entry(at string, raw *fileFixture) []Fixture {
	names, err := parseSpan(raw.Name)
	if err == nil {
		err = checkName(names.name(names.count() - 1))
	}
	if err != nil {
		if r.doc.Has(at + ".name") { // else it is said already: the key is needed
			r.fault(at+".name", "fixture: %v", err)
		}
		names = span{before: raw.Name}
	}
	n := names.count()
	f := Fixture{ByHand: raw.ByHand, Fixed: raw.Fixed, ModeName: raw.Mode, Pos: r.pos(at)}
	if f.ByHand && f.Fixed {
		r.fault(at+".fixed", "%q is both by_hand and fixed, and a fixed fixture can not be changed by anybody", raw.Name).Advise("keep one of the two")
	}
	r.profile(at, raw, &f)
	f.Heads = r.heads(at, raw, &f)
	r.shared(at, raw, &f)
	f.Level = take(r, at+".level", raw.Level, 0, fraction)
	f.LevelCap = take(r, at+".level_cap", raw.LevelCap, 0, fraction)
	if f.Fixed && raw.Level != "" {
		r.fault(at+".level", "%q is fixed: nobody can give it a level", raw.Name).Advise("take the level out")
	}
	all := make([]Fixture, n)
	for i := range all {
		all[i] = f
		all[i].Name = names.name(i)
	}
	r.addresses(at, raw, all)
	r.channels(at, raw, all)
	r.probesOf(at, raw, all)
	r.units(at, raw, all)
	r.grid(at, raw, all)
	return all
}

// profile loads the profile and picks the mode.
func (r *reader) profile(at string, raw *fileFixture, f *Fixture) {
	if raw.Profile == "" {
		return // said already: the key is needed
	}
	f.ProfilePath = r.resolve(raw.Profile)
	l, known := r.cache[f.ProfilePath]
	if !known {
		l.profile, l.err = r.load(f.ProfilePath)
		r.cache[f.ProfilePath] = l
		if l.err != nil {
			r.fault(at+".profile", "profile %s can not be used: %v", raw.Profile, l.err)
		}
	}
	f.Profile = l.profile
	if f.Profile == nil {
		return
	}
	var names []string
	for i := range f.Profile.Modes {
		m := &f.Profile.Modes[i]
		names = append(names, m.Name)
		if m.Name == raw.Mode {
			f.Mode = m
		}
	}
	switch {
	case f.Mode != nil:
	case raw.Mode == "" && len(names) == 1:
		f.Mode = &f.Profile.Modes[0]
	case raw.Mode == "" && len(names) == 0 && f.Fixed:
	case raw.Mode == "":
		r.fault(at, "fixture %q: profile %s has %d modes", raw.Name, raw.Profile, len(names)).Advise("say which one with mode: %s", strings.Join(names, ", or "))
	default:
		r.unknown(at+".mode", raw.Mode, names, "profile %s has no mode %q", raw.Profile, raw.Mode)
	}
	if f.Mode != nil {
		f.ModeName = f.Mode.Name
		r.fits(at, raw, f)
	}
}

// fits holds what the entry says of the lamp against what its mode says.
func (r *reader) fits(at string, raw *fileFixture, f *Fixture) {
	switch fixed := f.Mode.Kind == profiles.Fixed; {
	case fixed && f.ByHand:
		r.fault(at+".by_hand", "mode %q has no colour that anybody could set", f.ModeName).Advise("write fixed: true instead")
	case fixed && f.Mode.Footprint > 0 && !f.Fixed:
		r.fault(at, "fixture %q: mode %q has no colour to set, only a level", raw.Name, f.ModeName).Advise("write fixed: true, and leave its address out; it is then measured only")
	case fixed:
		f.Fixed = true
	case f.Mode.ByHand && !f.Fixed:
		f.ByHand = true
	}
}

func (r *reader) heads(at string, raw *fileFixture, f *Fixture) int {
	most := 1
	if f.Mode != nil {
		most = max(1, f.Mode.Heads.Count)
	}
	if raw.Heads == nil {
		return most
	}
	if f.Mode != nil && (*raw.Heads < 1 || *raw.Heads > most) {
		r.fault(at+".heads", "heads %d: mode %q has %d; want 1..%d", *raw.Heads, f.ModeName, most, most)
		return most
	}
	return *raw.Heads
}

// shared refuses several heads that hang on one parameter: each head is matched
// by itself, and one would move the light of all.
func (r *reader) shared(at string, raw *fileFixture, f *Fixture) {
	if f.Mode == nil || f.Heads < 2 || !f.Sent() {
		return
	}
	if p := sharedParam(f.Mode); p != nil {
		r.fault(at+".heads", "fixture %q: the heads of mode %q share %s, and a head is matched by itself", raw.Name, f.ModeName, p.Name).
			Advise("write heads: 1, or use a mode in which every head has its own")
	}
}

// sharedParam is the parameter that keeps the heads of a mode from being
// matched one by one; nil where none does. A dimmer over emitters is no such
// thing: it stands at full, and the emitters carry the level.
func sharedParam(m *profiles.Mode) *profiles.Param {
	for _, p := range m.Params() {
		if p.Common && !(p == m.Dimmer && len(m.Emitters) > 0) {
			return p
		}
	}
	return nil
}
