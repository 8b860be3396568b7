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

// A level that rose after a lamp was lit may have been a hand that went from the meter: the lamp is read as soon as before when it is lit again. If it rises then as
// well it is a slow one, and stays so; if not, it never was.
func TestALampThatRoseOnceIsLookedAtAgain(t *testing.T) {
	for _, again := range []bool{true, false} {
		b := newBench(t, 1, nil)
		c, u := b.c, b.c.units[1]
		before := u.settle
		lights := func(lit time.Duration, rises float64) {
			u.at.At, u.at.Sent, u.litAt = lit, solve.Drive{1}, lit
			u.looksAgain()
			first := levelRead{at: lit + before + 300*time.Millisecond, stands: lit, lux: 100, sd: 0.0003, lnSD: 0.004, set: slices.Clone(u.at.Sent)}
			u.levelRead = first
			u.levelRead.at, u.levelRead.lux = first.at+300*time.Millisecond, 100*rises
			c.onItsWay(u, &first)
		}
		lights(10*time.Second, 1.4)
		if u.settle <= before {
			t.Fatal("it is read on its way")
		}
		rises := 1.0
		if again {
			rises = 1.4
		}
		lights(40*time.Second, rises)
		if slow := u.settle > before; slow != again {
			t.Errorf("rises again %v: waits %v, %v before", again, u.settle, before)
		}
		lights(70*time.Second, 1)
		if slow := u.settle > before; slow != again {
			t.Errorf("lit for the third time, rose twice %v: waits %v, %v before", again, u.settle, before)
		}
	}
}
