package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/loop/session"
	"trueup/loop/session/rig"
)

// choice is which fixtures of a rig a person wants worked at.
type choice struct{ only, skip, group []string }

func (h *choice) add(c *cobra.Command) {
	c.Flags().StringSliceVar(&h.only, "only", nil, "names of the fixtures to match, with commas (default: all)")
	c.Flags().StringSliceVar(&h.group, "group", nil, "groups of the rig to match, with commas; with --only: both")
	c.Flags().StringSliceVar(&h.skip, "skip", nil, "names of fixtures or groups to leave to themselves, with commas")
}

// of leaves the fixtures that are not wanted to themselves. Every name must be one of the
// rig's, so that a slip of the finger matches nothing else.
func (h *choice) of(r *rig.Rig, c *session.Compiled) (*session.Compiled, error) {
	if len(h.only)+len(h.skip)+len(h.group) == 0 {
		return c, nil
	}
	heads := headsOf(r, c)
	groups := map[string][]string{}
	for _, g := range r.Groups {
		for _, i := range g.Fixtures {
			groups[g.Name] = append(groups[g.Name], heads[r.Fixtures[i].Name]...)
		}
	}
	pick := func(flag string, names []string, from ...map[string][]string) ([]string, error) {
		var all []string
		for _, n := range names {
			found := false
			for _, m := range from {
				picked, ok := m[n]
				found = found || ok
				all = append(all, picked...)
			}
			if !found && flag != "group" && slices.ContainsFunc(c.Units, func(u *session.Unit) bool { return u.Info.Name == n && u.Head >= 0 }) {
				all, found = append(all, n), true // one head of several
			}
			if !found {
				return nil, noSuchName(flag, n, namesIn(r, from))
			}
		}
		return all, nil
	}
	only, err := pick("only", h.only, heads)
	if err != nil {
		return nil, err
	}
	grouped, err := pick("group", h.group, groups)
	if err != nil {
		return nil, err
	}
	skip, err := pick("skip", h.skip, heads, groups)
	if err != nil {
		return nil, err
	}
	wanted := append(only, grouped...)
	any := false
	out := session.Choose(c, r.Target.Reference, func(i session.FixtureInfo) bool {
		keep := (len(h.only)+len(h.group) == 0 || slices.Contains(wanted, i.Name)) && !slices.Contains(skip, i.Name)
		any = any || keep
		return keep
	})
	if !any {
		return nil, usageError("--only, --group and --skip leave no fixture to match")
	}
	return out, nil
}

// namesIn are the fixtures and groups that stand in one of the maps, in the order of the rig file.
func namesIn(r *rig.Rig, maps []map[string][]string) (names []string) {
	add := func(name string) {
		if slices.ContainsFunc(maps, func(m map[string][]string) bool { return m[name] != nil }) && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for i := range r.Fixtures {
		add(r.Fixtures[i].Name)
	}
	for _, g := range r.Groups {
		add(g.Name)
	}
	return names
}

// headsOf are the names of the heads of every fixture that is moved over the network.
func headsOf(r *rig.Rig, c *session.Compiled) map[string][]string {
	heads := map[string][]string{}
	for _, u := range c.Units {
		if u.Head >= 0 {
			name, _, _ := strings.Cut(u.Info.Name, "/")
			if _, whole := r.Fixture(u.Info.Name); whole {
				name = u.Info.Name
			}
			heads[name] = append(heads[name], u.Info.Name)
		}
	}
	return heads
}

// noSuchName is the error for a fixture or a group that the rig does not match, beside those that it does.
func noSuchName(flag, name string, known []string) error {
	switch {
	case len(known) > 0:
		return usageError("--%s %s: no such name is matched over the network; there are: %s", flag, name, strings.Join(known, ", "))
	case flag == "group":
		return usageError("--group %s: the rig has no group that is matched over the network", name)
	}
	return usageError("--%s %s: the rig has no fixture that is matched over the network", flag, name)
}
