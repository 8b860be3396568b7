package core

import (
	"testing"
	"time"
)

// The dark is read when the light of the lamp that went out is gone, and of a slower one that went out long before: nobody waits for that again.
func TestNobodyWaitsForALampThatIsOutForLong(t *testing.T) {
	c := newBench(t, 4, nil).c
	fast, slow := c.units[1], c.units[3]
	if fast.Info.Probe != slow.Info.Probe {
		t.Fatal("two probes")
	}
	const now = time.Minute
	fast.outAt, fast.settle, slow.settle = now, 150*time.Millisecond, 3*time.Second
	for out, want := range map[time.Duration]time.Duration{
		now:                  now + slow.settle, // both at once
		now - 2*time.Second:  now + slow.settle, // it may glow on
		now - 4*time.Second:  now + 2*time.Second,
		now - 20*time.Second: now + fast.settle,
	} {
		slow.outAt = out
		if got := c.darkBy(fast.Info.Probe, now); got != want {
			t.Errorf("the slow one out since %v: the dark is read from %v on, want %v", now-out, got-now, want-now)
		}
	}
	slow.outAt = now
	if got := c.darkBy(c.units[2].Info.Probe, now); got > now+time.Second {
		t.Errorf("a slow lamp at another probe keeps it waiting until %v", got-now)
	}
}
