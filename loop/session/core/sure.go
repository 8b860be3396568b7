package core

import (
	"slices"
	"time"
)

// A light that is switched now and then comes or goes between two looks at the dark. What was read of a lamp before the last look that was as before is as good
// as ever: a visit that takes many readings keeps those, and only what was read since is read again.

// closes notes that a look at the dark of a probe, after another, was as that: what was read of a lamp in between is sure, if no light comes and goes so fast.
func (c *Core) closes(probe string, from, to time.Duration) {
	if to-from > standsFor {
		return
	}
	for _, u := range c.units {
		if u.Info.Probe != probe {
			continue
		}
		for i := range u.given {
			if g := &u.given[i]; g.r.At > from && g.r.At <= to {
				g.sure = true
			}
		}
	}
}

// keepsSure has a visit that waits go on with its readings that are sure, if it has any. It tells whether it does, and whether there are more of them
// than when the light jumped last.
func (c *Core) keepsSure(b *back) (keeps, more bool) {
	u := b.unit()
	v, can := b.task.(remakes)
	if !can || u.watching || !v.inLoop() || v.has().HasUnseen() {
		return false, false
	}
	sure := slices.DeleteFunc(slices.Clone(u.given), func(g given) bool { return !g.sure })
	if len(sure) == 0 {
		return false, false
	}
	more = len(sure) > u.wereSure
	u.wereSure = len(sure)
	if gone := len(u.given) - len(sure); gone > 0 {
		u.given, u.tally.last = sure, nil
		u.tally.kept -= gone
		return c.makeAnew(v, u), more
	}
	return true, more
}
