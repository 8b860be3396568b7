package session

import (
	"slices"

	"trueup/safety"
)

// Choose leaves the heads that keep does not want to themselves: a run sends nothing to
// them, a desk keeps them, and what light they give counts as background. The reference is
// kept whatever keep says. On a universe that no head is left of nothing is sent at all.
func Choose(c *Compiled, reference string, keep func(i FixtureInfo) bool) *Compiled {
	out := &Compiled{Start: safety.Look{}, Modes: c.Modes}
	for _, u := range c.Units {
		v := *u
		switch {
		case u.Head < 0:
		case u.Info.Name == reference || keep(u.Info):
			v.Head = len(out.Heads)
			out.Heads = append(out.Heads, c.Heads[u.Head])
		default:
			v.Head, v.Info.LeftOut = -1, true
		}
		out.Units = append(out.Units, &v)
	}
	for u, look := range c.Start {
		if slices.ContainsFunc(out.Heads, func(h safety.Head) bool { return h.Universe == u }) {
			out.Start[u] = look
		}
	}
	return out
}
