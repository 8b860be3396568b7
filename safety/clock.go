package safety

import "time"

// boundedClock turns the times it is given into steps that are safe to move by.
type boundedClock struct {
	last time.Time
	ran  bool
}

// step returns the time since the last call, at least 0 and at most most, and
// the time that was really passed. A clock that runs backwards gives 0 and
// starts anew from there; so does the first call.
func (c *boundedClock) step(now time.Time, most time.Duration) (dt, real time.Duration) {
	if !c.ran {
		c.last, c.ran = now, true
		return 0, 0
	}
	real = now.Sub(c.last) // saturates, never wraps
	c.last = now
	return min(max(real, 0), most), real
}
