package core

import (
	"slices"
	"testing"
	"time"

	"trueup/loop/solve"
)

// A lamp whose level still rises seconds after it was lit is waited for longer; one that was too weak to be seen before, as somebody stood in its beam who then
// stepped out of it, is not: it was waited for eight seconds at every step.
func TestSomebodyWhoStepsOutOfTheBeamSlowsNoLamp(t *testing.T) {
	for _, weak := range []bool{false, true} {
		b := newBench(t, 1, nil)
		c, u := b.c, b.c.units[1]
		const lit = 10 * time.Second
		u.at.At, u.at.Sent, u.litAt = lit, solve.Drive{1}, lit
		if weak {
			u.weakAt = lit
		}
		first := levelRead{at: lit + 3300*time.Millisecond, stands: lit, lux: 143, sd: 0.0003, lnSD: 0.004, set: slices.Clone(u.at.Sent)}
		u.levelRead = first
		u.levelRead.at, u.levelRead.lux = lit+3600*time.Millisecond, 160
		before := u.settle
		c.onItsWay(u, &first)
		if slow := u.settle > before; slow == weak {
			t.Errorf("too weak before: %v: waits %v, %v before", weak, u.settle, before)
		}
	}
}
