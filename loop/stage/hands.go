package stage

import (
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
)

// Hands are people who reach over a meter now and then. They depend on seed and name
// alone. Not for use by several goroutines at once.
type Hands struct {
	every time.Duration
	r     *rand.Rand
	begin []time.Duration
}

// A hand stays so long over the meter and lets so much light through.
const (
	handStays   = 200 * time.Millisecond
	handThrough = 0.08
)

// NewHands covers a meter about once in every; 0 is never.
func NewHands(every time.Duration, seed uint64, name string) *Hands {
	return &Hands{every: every, r: source(seed, "hands/"+name)}
}

// nowAndThen is a time until somebody comes who comes about once in every.
func nowAndThen(every time.Duration, r *rand.Rand) time.Duration {
	return time.Duration((0.3 + 1.4*r.Float64()) * float64(every))
}

// Through is what reaches the meter of a light at a moment since the stage began.
func (h *Hands) Through(c colorcalc.XYZ, t time.Duration) colorcalc.XYZ {
	if h.every <= 0 {
		return c
	}
	last := time.Duration(0)
	if n := len(h.begin); n > 0 {
		last = h.begin[n-1]
	}
	for last <= t {
		last += max(handStays, nowAndThen(h.every, h.r))
		h.begin = append(h.begin, last)
	}
	for _, b := range h.begin {
		if t >= b && t < b+handStays {
			return c.Scale(handThrough)
		}
	}
	return c
}
