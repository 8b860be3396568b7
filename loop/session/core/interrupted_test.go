package core

import (
	"testing"
	"time"

	"trueup/loop/scene"
)

// A visit is not interrupted for looks at background and reference for ever: after so many its readings end it, and after a few of them where it has gone on for
// minutes, as with a slow meter. One lamp held a run for ten minutes and more.
func TestAVisitIsNotInterruptedForEver(t *testing.T) {
	for _, x := range []struct {
		looks  int
		long   time.Duration
		enough bool
	}{
		{vainLooks, longVisit / 2, false},
		{vainLooks, longVisit + time.Second, true},
		{vainLooks - 1, longVisit + time.Second, false},
		{mostLooks - 1, longVisit / 2, false},
		{mostLooks, longVisit / 2, true},
	} {
		b := newBench(t, 2, nil)
		c, u := b.c, b.c.units[1]
		c.background[u.Info.Probe] = &dark{Background: scene.NewBackground(window.XYZ(1), 5, c.meter(""), 0)}
		c.now = time.Hour
		u.begun = c.now - x.long
		v := &secondVisit{u: u}
		c.lane = &c.main
		c.main.looks = looks{visit: v, n: x.looks}
		if got := c.lookedEnough(v); got != x.enough {
			t.Errorf("%d looks, for %v: enough %v, want %v", x.looks, x.long, got, x.enough)
		}
	}
}
