package core

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
)

// What is left of the way of a light that lags behind a straight line is the solution of tau dy/dt = x - y, found here by small steps.
func TestWhatALagLeavesFollowsItsEquation(t *testing.T) {
	for _, tau := range []float64{0.1, 0.6, 1, 4} {
		for _, long := range []float64{0.05, 0.3, 1.1} {
			const end, step = 10.0, 1e-4
			y := 0.0
			for at := end - long; at < end+3*tau; at += step {
				x := min(1, (at-end+long)/long)
				if n := int(math.Round((at - end + long) / step)); n%500 == 0 {
					got := lagLeft(seconds(at), seconds(end), seconds(long), seconds(tau))
					if math.Abs(got-(1-y)) > 2e-3 {
						t.Fatalf("tau %.1f s, a line of %.2f s: %.4f is left %.2f s after its end, want %.4f", tau, long, got, at-end, 1-y)
					}
				}
				y += step / tau * (x - y)
			}
		}
	}
	if lagLeft(time.Second, 3*time.Second, time.Second, time.Second) != 1 {
		t.Error("before the line begins, all of the way is left")
	}
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// A step of a lamp that lags is read early only once a step of its type was seen to lag as the level does.
func TestAStepIsReadEarlyOnlyWhereTheColourLagsToo(t *testing.T) {
	for _, c := range []struct {
		what string
		part float64 // of its way, that a glimpse finds before the step
		lags bool
	}{
		{"it lags as the level does", 0.6, true},
		{"it follows at once", 0, false},
		{"nobody can tell which", 0.3, false},
	} {
		b := newBench(t, 1, nil)
		u := b.c.units[1]
		key := u.SettleKey()
		b.c.lags[key] = &lagging{taus: []time.Duration{time.Second}}
		if b.c.lagOf(u) != time.Second || b.c.stepLag(u) != 0 || !b.c.showsLag(u) {
			t.Fatalf("%s: the lag of its level is known, of its colour nothing", c.what)
		}
		u.settle = 4 * time.Second
		u.fading = fading{step: colorcalc.UV{U: 0.01}, up: b.c.upOf(u, 10*time.Second, frame)}
		b.c.lagShowed(u, &glimpse{from: 10350 * time.Millisecond, to: 10550 * time.Millisecond}, c.part, 0.05)
		if got := b.c.stepLag(u) > 0; got != c.lags {
			t.Errorf("%s: steps are read early: %v", c.what, got)
		}
	}
}
