package core

import (
	"testing"
	"time"
)

// What a visit has shown of a dead time does not count when it ends without light of the lamp; what other visits have shown does.
func TestADeadTimeIsTakenBack(t *testing.T) {
	const key, kept = "a type@a feed", 300 * time.Millisecond
	fresh := func() *Core {
		return newBench(t, 1, func(c *Config) { c.DeadTimes = map[string]time.Duration{key: kept} }).c
	}
	stands := func(what string, c *Core, want, found time.Duration, unproven bool) {
		t.Helper()
		if c.deadTimes[key] != want || c.unproven[key] != unproven || c.TypeTimes().DeadTimes[key] != found {
			t.Errorf("%s: %v is waited for, unproven %v, found %v", what, c.deadTimes[key], c.unproven[key], c.TypeTimes().DeadTimes)
		}
	}
	c := fresh()
	d := deadTime{u: c.units[0], key: key, kept: kept}
	d.failed(c)
	d.measured(c, time.Second)
	d.takeBack(c, key)
	stands("one that fails and is measured", c, kept, 0, true)

	d = deadTime{u: c.units[0], key: key, shown: shown{holds: true}}
	delete(c.unproven, key)
	d.takeBack(c, key)
	stands("one that holds", c, kept, 0, true)

	d = deadTime{u: c.units[0], key: key, kept: kept}
	d.failed(c)
	d.measured(c, time.Second)
	c.measuredDeadTime(key, 2*time.Second)
	delete(c.fleeting, key)
	d.takeBack(c, key)
	stands("another was measured too", c, 2*time.Second, 2*time.Second, false)
	d.takeBack(c, key)
	stands("twice", c, 2*time.Second, 2*time.Second, false)
}
