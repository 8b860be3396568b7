package core

import (
	"fmt"
	"time"
)

// heldAgainst says which light the claims of a run are true of, and when it was read: a claim
// has a time, for the reference goes on living. Empty for a named colour.
func (c *Core) heldAgainst() string {
	if c.ref == nil || c.cfg.Plan.Target.Reference == "" || c.cfg.Work == Probe {
		return ""
	}
	ago := func(at time.Duration) string { return (c.now - at).Round(time.Second).String() }
	switch {
	case c.ref.Frozen && c.moving != nil && c.moving.Last() > c.refAt:
		return fmt.Sprintf("; what is said holds for %s as it was %s ago, where it was frozen: %s ago it was %.4f from there", c.ref.Name, ago(c.refAt), ago(c.moving.Last()), c.ref.Moved)
	case c.ref.Frozen:
		return fmt.Sprintf("; what is said holds for %s as it was %s ago, where it was frozen; it was not read since", c.ref.Name, ago(c.refAt))
	case c.moving != nil:
		return fmt.Sprintf("; what is said holds for %s as it was %s ago", c.ref.Name, ago(c.moving.Last()))
	}
	return fmt.Sprintf("; what is said holds for %s as it was %s ago", c.ref.Name, ago(c.refAt))
}
