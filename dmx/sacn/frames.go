package sacn

import (
	"time"

	"trueup/dmx"
)

// Frames supplies the levels of a universe at the sender's tick.
//
// Levels writes slots 1..n of universe u, as they shall stand at now, to
// dst[0..n-1] and returns n, 1..512. Zero means "nothing for now": before the
// first frame of a universe nothing is sent; after it the last look is kept
// alive, for a stream that falls silent is a jump on stage 2.5 s later.
//
// dst arrives with the levels that were sent last. Levels is called by one
// goroutine, at most 44 times a second for each universe, and must not block.
type Frames interface {
	Levels(now time.Time, u dmx.Universe, dst *[512]byte) int
}
