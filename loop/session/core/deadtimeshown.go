package core

import (
	"slices"
	"time"

	"trueup/loop/solve"
)

// A lamp that gives no light, or whose light is not what the meter sees, stands still from the first reading on. It tells nothing of
// how long its type takes: neither that a kept dead time holds, nor a new one.

// shown is what a visit has shown of the dead time of a type, so that it can be taken back.
type shown struct {
	waits []time.Duration // measured
	holds bool            // a kept one, as far as was seen
	fails bool            // a kept one
}

// shines tells whether a reading is of the light of a lamp: more than leastShare above the background, which is far more than noise explains.
func (c *Core) shines(r *Reading) bool {
	_, w := c.lampLight(r)
	return w == nil
}

// measured takes in what the visit has measured, and gives what counts.
func (d *deadTime) measured(c *Core, wait time.Duration) time.Duration {
	d.shown.waits = append(d.shown.waits, wait)
	return c.measuredDeadTime(d.key, wait)
}

// notSeen tells of the end of a match whether the meter may not have seen the light of the lamp at all.
func notSeen(d solve.Decision) bool {
	return d.Cause == solve.NotAnswering || d.Cause == solve.Dark || d.Outcome == solve.Held && d.Cause != solve.Swapped
}

// takeBack undoes what the visit has shown of a type and feed: the next unit of the type shows it.
func (d *deadTime) takeBack(c *Core, key string) {
	s := d.shown
	if d.shown = (shown{}); len(s.waits) == 0 && !s.holds && !s.fails {
		return
	}
	left := c.measuredDead[key]
	for _, w := range s.waits {
		if i := slices.Index(left, w); i >= 0 {
			left = slices.Delete(left, i, i+1)
		}
	}
	if len(left) > 0 {
		c.counts(key, left)
		return
	}
	delete(c.measuredDead, key)
	delete(c.disputed, key)
	if _, ok := c.deadTimes[key]; !ok && !s.fails {
		return // another lane has found meanwhile that the kept one does not hold
	}
	delete(c.deadTimes, key)
	delete(c.fleeting, key)
	if kept, ok := c.cfg.DeadTimes[key]; ok {
		c.deadTimes[key], c.unproven[key] = kept, true
	}
}
