package safety

import "time"

// stepper turns the times it is given into steps that are safe to move by.
type stepper struct {
	last time.Time
	ran  bool
}

// step returns the time since the last call, at least 0 and at most most, and
// the time that was really passed. A clock that runs backwards gives 0 and
// starts anew from there; so does the first call.
func (s *stepper) step(now time.Time, most time.Duration) (dt, real time.Duration) {
	if !s.ran {
		s.last, s.ran = now, true
		return 0, 0
	}
	real = now.Sub(s.last) // saturates, never wraps
	s.last = now
	return min(max(real, 0), most), real
}
