package core

import (
	"math"
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

// Somebody who stands in the beam of a lamp as it is lit, and steps out of it after the first reading, slows no lamp: one more reading shows that its level stands. One whose
// level goes on rising is slow.
func TestAShadowThatGoesIsNoLagOfALamp(t *testing.T) {
	const settle = time.Second
	for name, s := range map[string]struct {
		level  func(since float64, times int) float64
		longer bool
	}{
		"a shadow": {func(since float64, times int) float64 {
			if times == 2 && since < 1.2 {
				return 0.7
			}
			return 1
		}, false},
		"slow": {func(since float64, _ int) float64 { return 1 - math.Exp(-since/0.9) }, true},
	} {
		b := newBench(t, 1, func(c *Config) {
			c.Plan.Tolerance = 0.0005 // that takes several readings of a setting
			u := &c.Units[1]
			u.Info.Probe, u.Settle, u.SettleKnown = "left", settle, true
		})
		u := b.c.units[1]
		lit, times, waits := time.Duration(0), 0, time.Duration(0)
		b.read = func(a Ask, r *Reading) {
			if a.Dark || a.Probe != "left" || u.litAt == 0 {
				return
			}
			if lit != u.litAt {
				lit, times = u.litAt, times+1
			}
			r.Y *= s.level((r.At - r.Integration/2 - lit).Seconds(), times)
		}
		b.tell(Event{Kind: Begin})
		b.until("the end", func() bool {
			waits = max(waits, u.settle)
			return b.over()
		})
		if longer := waits > 2*settle; longer != s.longer || times < 2 {
			t.Errorf("%s: lit %d times, it is waited for %v\n%s", name, times, waits, b.notes(KindSettle)+b.notes(KindAside))
		}
	}
}

// A level that rises at once and then stands is no shadow's if it does so again when the lamp is lit the next time: the lamp comes late. If it stands then, it was one.
func TestALevelThatRisesAtOnceEachTimeIsOfALampThatComesLate(t *testing.T) {
	for _, again := range []bool{true, false} {
		b := newBench(t, 1, nil)
		c, u := b.c, b.c.units[1]
		before := u.settle
		lights := func(lit time.Duration, first float64) {
			u.at.At, u.at.Sent, u.litAt = lit, solve.Drive{1}, lit
			u.looksAgain()
			for k, lux := range []float64{first, 100, 100} {
				at := lit + time.Duration(1500+200*k)*time.Millisecond
				net := solve.Reading{Y: lux, HasY: true, SigmaUV: 0.0003, SigmaLnY: 0.004}
				if c.risesYet(u, &Reading{At: at, Integration: 200 * time.Millisecond}, &net) {
					continue
				}
				was := u.levelRead
				u.levelRead = levelRead{at: at, stands: lit, lux: lux, sd: net.SigmaUV, lnSD: net.SigmaLnY, set: slices.Clone(u.at.Sent), again: was.stands == lit}
				c.onItsWay(u, &was)
			}
		}
		lights(10*time.Second, 70)
		if u.settle > before {
			t.Errorf("it is waited for %v after a shadow", u.settle)
		}
		rises := 100.0
		if again {
			rises = 70
		}
		lights(40*time.Second, rises)
		if slow := u.settle > before; slow != again {
			t.Errorf("again %v: waits %v, %v before", again, u.settle, before)
		}
		lights(70*time.Second, 70)
		if slow := u.settle > before; slow != again {
			t.Errorf("again %v, and a third time: waits %v, %v before", again, u.settle, before)
		}
	}
}
