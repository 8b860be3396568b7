package core

import (
	"testing"
	"time"
)

// Lanes that measure the dead time of a type at the same time outvote the one of them that something disturbed: the lamps of
// a whole rig do not wait for what one lane saw.
func TestADisturbedLaneIsOutvoted(t *testing.T) {
	c := newBench(t, 4, fourProbes).c
	const key = "a type@a feed"
	for i, step := range []struct{ saw, counts time.Duration }{
		{50 * time.Millisecond, 50 * time.Millisecond},
		{1186 * time.Millisecond, 1186 * time.Millisecond}, // of two the longer
		{50 * time.Millisecond, 50 * time.Millisecond},
		{60 * time.Millisecond, 60 * time.Millisecond},
		{50 * time.Millisecond, 50 * time.Millisecond},
	} {
		if got := c.measuredDeadTime(key, step.saw); got != step.counts || c.DeadTimes()[key] != got {
			t.Errorf("measurement %d of %v: %v counts, and %v is kept; want %v", i+1, step.saw, got, c.DeadTimes()[key], step.counts)
		}
	}
}
