package core

import (
	"fmt"
	"time"

	"trueup/profiles/printable"
)

// namedTypes is how many types are named where no unit was watched.
const namedTypes = 3

// notWatched says of which types with a landed unit nobody knows whether they keep their colour after they were lit, and what
// it would take to find out; "" for none. Where people are aloft, lamps are not put out and lit again, and a person's readings come
// too late to be of a lamp that has just been lit.
func (c *Core) notWatched() string {
	if !c.watchable() || !c.cfg.Plan.SecondVisit {
		return ""
	}
	longest, names := c.unknownTypes(watchedUnits, func(u *unit) bool { return u.outcome.Landed() })
	if len(names) == 0 {
		return ""
	}
	if more := len(names) - namedTypes; more > 0 {
		names = append(names[:namedTypes], fmt.Sprintf("%s more", printable.Count(more, "type")))
	}
	text, watchable := c.heldBriefly("not watched", names)
	if !watchable {
		return text
	}
	return text + fmt.Sprintf("; match --watch %s (on the page: Watch) finds those that change their colour after that, for some %s more", UsualWatch, printable.Span(longest.Round(time.Second)))
}

// paceAt is what one more reading of a unit takes.
func (c *Core) paceAt(u *unit) time.Duration {
	d, _ := c.costs(u, 0)
	return d
}
