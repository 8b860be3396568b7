package feed

import (
	"slices"
	"time"

	"trueup/loop/feed/instrument"
)

// clock learns whether the instrument's clock agrees with ours. A stamp can
// not be later than the arrival of its message (but for a little slack), and
// not much earlier. While most of the last stamps keep to that, the clock
// agrees and a single stamp that does not is set aside; while most do not, the
// clock is somebody else's and arrival minus latency serves instead.
//
// A clock that runs slow by less than instrument.MaxDelay makes us believe that
// integrations began earlier than they did, which only costs time.
type clock struct {
	delays []time.Duration // arrival minus stamp, newest last
}

const (
	clockMemory = 9
	clockSlack  = 50 * time.Millisecond // network time keeps two machines well within this
)

func plausible(d time.Duration) bool { return d >= -clockSlack && d <= instrument.MaxDelay }

func (c *clock) agrees() bool {
	good := 0
	for _, d := range c.delays {
		if plausible(d) {
			good++
		}
	}
	return good > 0 && 2*good > len(c.delays)
}

// end places the end of integration on our clock. ok is false for a stamp that
// does not fit a clock that otherwise agrees.
func (c *clock) end(d instrument.Draft, now time.Time, latency time.Duration) (end time.Time, stamped, ok bool) {
	if !d.HasStamp {
		return now.Add(-latency), false, true
	}
	// Round strips the monotonic part: both sides are wall time here.
	delay := now.Round(0).Sub(d.Stamp)
	agreed := c.agrees()
	if len(c.delays) == clockMemory {
		c.delays = append(c.delays[:0], c.delays[1:]...)
	}
	c.delays = append(c.delays, delay)
	switch {
	case plausible(delay) && c.agrees():
		// Kept relative to the arrival, so that it stays right when our wall
		// clock is set during a run. Never later than the arrival.
		return now.Add(-max(delay, 0)), true, true
	case agreed && c.agrees():
		return time.Time{}, false, false
	}
	return now.Add(-latency), false, true
}

func (c *clock) status() ClockStatus {
	if len(c.delays) == 0 {
		return ClockStatus{}
	}
	return ClockStatus{Stamped: true, Agrees: c.agrees(), Delay: slices.Min(c.delays)}
}
