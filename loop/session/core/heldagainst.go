package core

import (
	"fmt"
	"time"

	"trueup/profiles/printable"
)

// heldAgainst says which light the claims of a run are true of, and when it was read: a claim
// has a time, for the reference goes on living. Empty for a named colour.
func (c *Core) heldAgainst() string {
	if c.ref == nil || c.cfg.Plan.Target.Reference == "" || c.cfg.Work == Probe {
		return ""
	}
	ago := func(at time.Duration) string {
		return printable.Span(max(c.now-at, time.Second).Round(time.Second)) + " ago"
	}
	at, followed := c.refAt, ""
	switch again := c.moving != nil && c.moving.Last() > c.refAt; {
	case c.ref.Frozen && again:
		followed = fmt.Sprintf(", where it was frozen: %s it was %.4f from there", ago(c.moving.Last()), c.ref.Moved)
	case c.ref.Frozen:
		followed = ", where it was frozen; it was not read since"
	case again:
		at = c.moving.Last()
	}
	return fmt.Sprintf("; what is said holds for %s as it was %s%s", c.ref.Name, ago(at), followed)
}
