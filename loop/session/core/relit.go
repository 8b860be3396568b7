package core

import (
	"fmt"
	"slices"

	"trueup/loop/solve"
)

// relit are the lamps of a look that an earlier run left, put back at once at the pace of the governor.
type relit []move

// relight decides on the settings that the earlier run left, as an action of this run; none where it left none for
// a fixture of this rig.
func (c *Core) relight(action string) (all relit) {
	for _, s := range c.cfg.Previous {
		if u := c.find(s.Fixture); u != nil && u.Head >= 0 && len(s.Codes) == len(u.Rest) {
			c.decided(u, Step{Action: action, Codes: s.Codes})
			all = append(all, move{unit: u, drive: s.Codes})
		}
	}
	return all
}

// want asks for the look.
func (r relit) want(why string) want {
	if len(r) == 0 {
		return want{fail: fmt.Errorf("%s", why)}
	}
	return want{look: r}
}

// refused goes on without a lamp that does not take its setting: it is held.
func (r *relit) refused(c *Core, in input) want {
	if i := slices.IndexFunc(*r, func(m move) bool { return m.unit == in.by }); i >= 0 {
		*r = slices.Delete(slices.Clone(*r), i, i+1)
		in.by.outcome = c.outcomeOf(in.by, solve.Decision{Outcome: solve.Held, Reason: in.why})
		c.enter(Entry{Kind: KindOutcome, Fixture: in.by.Info.Name, Outcome: in.by.outcome})
	}
	return r.want("no fixture takes its setting")
}

// stands notes what every lamp was sent.
func (r relit) stands(c *Core) {
	for _, m := range r {
		c.stood(m.unit, Step{Action: "sent", Codes: m.unit.at.Sent})
	}
}
