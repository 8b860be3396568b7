package core

import (
	"strings"
	"testing"
	"time"
)

// A lamp that is dark for a second or five, as where no packets arrive, is not lost: however soon after a look at the dark that was, and whether it was seen to give
// light before or not. One that never gives any is held at once and said so twice, no more.
func TestALampThatIsDarkForSecondsIsNotLost(t *testing.T) {
	for _, late := range []int{1, 2, 4} { // readings of it before
		for _, long := range []time.Duration{time.Second, 5 * time.Second} {
			b := newBench(t, 2, nil)
			seen, gone := 0, time.Duration(0)
			b.read = func(a Ask, r *Reading) {
				if a.Probe != "left" || a.Dark {
					return
				}
				if seen++; seen == late {
					gone = r.At
				}
				if gone > 0 && r.At-gone < long {
					r.Y = 1.5 // the background
				}
			}
			b.ended(nil)
			if o := b.outcome("wash 0"); o == nil || !o.Landed() {
				t.Errorf("dark for %v from reading %d on: %+v", long, late, o)
			}
		}
	}
	b := newBench(t, 2, nil)
	b.read = func(a Ask, r *Reading) {
		if a.Probe == "left" {
			r.Y = 1.5
		}
	}
	b.ended(nil)
	said, first := 0, 0
	for _, e := range b.log {
		if e.Fixture == "wash 0" && e.Outcome != nil && strings.Contains(e.Outcome.Reason, "no light to speak of") {
			if said++; said == 1 {
				first = e.Outcome.Readings
			}
		}
	}
	if o := b.outcome("wash 0"); first > 8 || said > 2 || o == nil || !strings.Contains(o.Reason, "no light to speak of") {
		t.Errorf("no light: said %d times, first after %d readings: %+v", said, first, o)
	}
}
