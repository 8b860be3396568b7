package rig

import (
	"fmt"
	"slices"

	"trueup/colorcalc/expr"
	"trueup/loop/session/core"
	"trueup/profiles/yamlfile"
)

func (r *reader) groups(raw map[string][]string, caps map[string]string) {
	index := map[string]int{}
	var all []string
	for i, f := range r.rig.Fixtures {
		index[f.Name] = i
		all = append(all, f.Name)
	}
	for _, name := range keys(raw) {
		at := "$.groups" + yamlfile.Key(name)
		g := Group{Name: name, Pos: r.pos(at)}
		if err := checkName(name); err != nil {
			r.fault(at, "group: %v", err)
		}
		if len(raw[name]) == 0 {
			r.fault(at, "group %q is empty", name).Advise("list its fixtures, such as [wash 1..4]")
		}
		for j, text := range raw[name] {
			s, err := parseSpan(text)
			if err != nil {
				r.fault(fmt.Sprintf("%s[%d]", at, j), "group %q: %v", name, err)
				continue
			}
			for k := range s.count() {
				i, ok := index[s.name(k)]
				if !ok {
					r.unknown(fmt.Sprintf("%s[%d]", at, j), s.name(k), all, "group %q: no fixture is called %q", name, s.name(k))
					break
				}
				if slices.Contains(g.Fixtures, i) {
					r.fault(fmt.Sprintf("%s[%d]", at, j), "group %q lists %q twice", name, s.name(k))
					break
				}
				g.Fixtures = append(g.Fixtures, i)
			}
		}
		slices.Sort(g.Fixtures)
		for _, i := range g.Fixtures {
			r.rig.Fixtures[i].Groups = append(r.rig.Fixtures[i].Groups, name)
		}
		r.rig.Groups = append(r.rig.Groups, g)
	}
	r.rig.Safety.GroupCaps = map[string]float64{}
	for _, name := range keys(caps) {
		at := "$.safety.group_caps" + yamlfile.Key(name)
		if _, ok := raw[name]; !ok {
			r.unknown(at, name, keys(raw), "a level cap for %q, which is not under groups", name)
			continue
		}
		if v, err := fraction(caps[name]); err != nil {
			r.fault(at, "level cap of group %q: %v", name, err)
		} else {
			r.rig.Safety.GroupCaps[name] = v
		}
	}
}

func (r *reader) target(raw *fileTarget) {
	t := &r.rig.Target
	t.Color, t.Reference, t.Pos = raw.Color, raw.Reference, r.pos("$.target")
	switch {
	case t.Color == "" && t.Reference == "":
		r.fault("$.target", "the target says neither color nor reference").Advise("add color: (such as 4300 K duv -0.002) or reference: (the name of a fixture)")
	case t.Color != "" && t.Reference != "":
		r.fault("$.target.reference", "the target has a color and a reference").Advise("keep one of the two")
	case t.Color != "":
		if _, err := expr.Parse(t.Color); err != nil {
			r.fault("$.target.color", "%v", err)
		}
	default:
		if _, ok := r.rig.Fixture(t.Reference); !ok {
			var all []string
			for _, f := range r.rig.Fixtures {
				all = append(all, f.Name)
			}
			r.unknown("$.target.reference", t.Reference, all, "no fixture is called %q", t.Reference)
		}
	}
	r.spend(raw)
	t.BestCommon = raw.Best != nil && *raw.Best
	t.Freeze = raw.Moving == "freeze"
	if raw.Moving != "" && t.Reference == "" {
		r.fault("$.target.moving_reference", "a colour does not move").Advise("remove it, or name a reference")
	}
	t.Level = take(r, "$.target.level", raw.Level, 0, fraction)
	switch raw.Common {
	case "":
	case string(core.CommonEqual), string(core.CommonBrightest):
		t.Common = core.CommonLevel(raw.Common)
	default:
		t.Common = core.CommonLux
		t.Lux = take(r, "$.target.common_level", raw.Common, 0, lux)
	}
}

// levels fills in the caps and levels of every fixture. A wish above its cap is
// an error, since the lamp would never reach it; only the default gives way.
func (r *reader) levels() {
	t := &r.rig.Target
	cap := r.rig.Safety.Limits.LevelCap
	if t.Level > cap {
		r.fault("$.target.level", "level %s is above the level cap %s", percent(t.Level), percent(cap)).Advise("lower the level, or raise safety.level_cap")
	}
	if t.Level == 0 {
		t.Level = min(DefaultLevel, cap)
	}
	for i := range r.rig.Fixtures {
		f := &r.rig.Fixtures[i]
		own := f.LevelCap
		if own > cap {
			r.fault(r.paths[i]+".level_cap", "level cap %s of %q is above the rig's %s", percent(own), f.Name, percent(cap)).Advise("a cap of a fixture can only be tighter")
		}
		f.LevelCap = cap
		if own > 0 {
			f.LevelCap = min(cap, own)
		}
		for _, g := range f.Groups {
			if c, ok := r.rig.Safety.GroupCaps[g]; ok {
				f.LevelCap = min(f.LevelCap, c)
			}
		}
		if f.Level > f.LevelCap {
			r.fault(r.paths[i]+".level", "level %s of %q is above its level cap %s", percent(f.Level), f.Name, percent(f.LevelCap)).Advise("lower the level, or raise the cap")
		}
		if f.Level == 0 {
			f.Level = min(t.Level, f.LevelCap)
		}
	}
}
