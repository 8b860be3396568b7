package looptest

import (
	"math"
	"os"
	"strconv"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// size is how many cases of a class are played: few by default, a hundred with
// TRUEUP_LONG=1, or any number with TRUEUP_CASES.
func size(short int) int {
	if n, err := strconv.Atoi(os.Getenv("TRUEUP_CASES")); err == nil && n > 0 {
		return n
	}
	if os.Getenv("TRUEUP_LONG") == "1" {
		return 100
	}
	return short
}

// tableSize is how many cases of a class a table is made of: as many as TRUEUP_CASES says. A table judges
// nothing, so the long forms only see that it can be made, of two.
func tableSize(t *testing.T) int {
	n := size(0)
	if n == 0 {
		t.Skip("a table takes minutes: TRUEUP_CASES=100, with -v")
	}
	if os.Getenv("TRUEUP_CASES") == "" {
		return 2
	}
	return n
}

// A case that is called reachable is: some setting of that very lamp gives the
// target. Targets called out of reach are that, too.
func TestCasesAreWhatTheySay(t *testing.T) {
	for _, cl := range Classes() {
		each(min(size(4), 40), func(n int) {
			c := cl.NewCase(1, n)
			w := c.Start()
			best := w.nearest(c.Target.UV)
			if c.Reachable && best > 0.0004 {
				t.Errorf("%s %d: target %v called reachable, best possible is %.4f off", cl.Name, n, c.Target.UV, best)
			}
			if cl.Aim == Outside && best < 0.0008 {
				t.Errorf("%s %d: target %v called outside, %.4f off is possible", cl.Name, n, c.Target.UV, best)
			}
		})
	}
}

// knower knows the truth and drives there; liar says that it has landed
// wherever it stands; mute never ends; wild sends a code that nobody allowed.
type fake struct {
	kind  string
	world *World
	t     solve.Target
	moved bool
	reads int
}

func (f *fake) Next(time.Duration) solve.Decision {
	c := f.world.Case
	switch {
	case !f.moved:
		f.moved = true
		d := append(solve.Drive{}, c.Found...)
		if f.kind == "knower" {
			f.world.descend(d, f.t.UV)
		}
		if f.kind == "wild" {
			d[0] = c.Spec.Channels[0].Hi + 1
		}
		return solve.Decision{Action: solve.Move, Drive: d}
	case f.kind == "mute" || f.reads == 0:
		return solve.Decision{Action: solve.Again}
	}
	return solve.Decision{Action: solve.Done, Outcome: solve.Landed}
}

func (f *fake) Observe(solve.Reading) solve.Account { f.reads++; return solve.Account{} }

// The judge is not fooled: it scores a lie as a false landing, stops what does
// not end, and refuses what nobody may send; and it knows the truth when told.
func TestTheJudgeIsNotFooled(t *testing.T) {
	cl := Classes()[0]
	play := func(kind string, n int) Run {
		c := cl.NewCase(3, n)
		w := c.Start()
		return w.Match(&fake{kind: kind, world: w, t: c.Target}, c.Target)
	}
	for n := range 4 {
		if r := play("knower", n); !r.Honest(Tol) || r.Error > 0.0006 { // the lamp warms after the move
			t.Errorf("knower: %+v", r)
		}
		if r := play("liar", n); r.Honest(Tol) || r.Error < 0.002 {
			t.Errorf("liar: %+v", r)
		}
		if r := play("mute", n); r.Outcome != solve.Unsettled || r.Readings != readingsCap {
			t.Errorf("mute: %+v", r)
		}
		if r := play("wild", n); r.Broken == "" {
			t.Errorf("wild: %+v", r)
		}
	}
}

// The confidence of the usual methods is the Rice distribution. At the centre
// it is 1 - exp(-tol^2/2s^2); far away it is 0; a tolerance of 2.448 s holds
// 95 %.
func TestConfidenceIsTheRiceDistribution(t *testing.T) {
	for _, c := range []struct{ d, s, tol, want float64 }{
		{0, 1, 2.4477, 0.95}, {0, 1, 1, 1 - math.Exp(-0.5)}, {10, 1, 2, 0}, {0, 0.1, 2, 1},
		{1, 1, 1, 0.26712}, // 1 - Q1(1, 1), Marcum (1960)
	} {
		if got := confidence(c.d, c.s, c.tol); math.Abs(got-c.want) > 2e-3 {
			t.Errorf("d %g, s %g, tol %g: %.4f, want %.4f", c.d, c.s, c.tol, got, c.want)
		}
	}
}

// Distances from a square's hull, by hand.
func TestHullKnowsInsideFromOutside(t *testing.T) {
	h := Hull([]colorcalc.UV{{U: 0.5, V: 0.5}, {U: 0, V: 0}, {U: 1, V: 1}, {U: 1, V: 0}, {U: 0, V: 1}})
	if len(h) != 4 {
		t.Fatalf("hull %v", h)
	}
	for _, c := range []struct{ u, v, want float64 }{{0.5, 0.5, 0.5}, {0.9, 0.5, 0.1}, {1.2, 0.5, -0.2}, {1.3, 1.4, -0.5}} {
		if got := Inside(h, colorcalc.UV{U: c.u, V: c.v}); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v: %g", c, got)
		}
	}
}
