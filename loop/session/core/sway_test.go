package core

import (
	"math"
	"strings"
	"testing"

	"trueup/colorcalc"
)

// A reference whose regulation hunts is told from one that warms up, from one that stands, and from one that jumped and came back.
func TestAReferenceThatGoesToAndFroIsTold(t *testing.T) {
	const tol, sd = 0.0010, 0.0001
	for what, x := range map[string]struct {
		at   func(s float64) float64 // u' s seconds after the first look
		want bool
	}{
		"hunts":               {func(s float64) float64 { return 0.0010 * math.Sin(2*math.Pi*s/37) }, true},
		"hunts, and warms up": {func(s float64) float64 { return 0.0010*math.Sin(2*math.Pi*s/37) - 0.003*math.Exp(-s/60) }, true},
		"warms up":            {func(s float64) float64 { return -0.008 * math.Exp(-s/120) }, false},
		"stands":              {func(s float64) float64 { return 0.0002 * math.Sin(3*s) }, false},
		"jumps and comes back": {func(s float64) float64 {
			if s > 30 && s < 70 {
				return 0.01
			}
			return 0
		}, false},
	} {
		var w sway
		told := false
		for s := 0.0; s < 240; s += 8 {
			told = w.moved(colorcalc.UV{U: 0.2 + x.at(s), V: 0.48}, colorcalc.UV{U: 0.2 + x.at(s+8), V: 0.48}, sd, tol) || told
		}
		if told != x.want || w.sways() != x.want {
			t.Errorf("%s: told %v, sways %v, want %v", what, told, w.sways(), x.want)
		}
		if x.want && !strings.Contains(w.advice(), "moving_reference: freeze") {
			t.Errorf("%s: %s", what, w.advice())
		}
	}
}

// Beside such a reference a run ends after a few rounds of visits, and says what is wrong and what helps.
func TestARunEndsBesideAReferenceThatGoesToAndFro(t *testing.T) {
	b := newBench(t, 12, nil)
	window := b.c.units[0].Info.Probe
	b.read = func(a Ask, r *Reading) {
		if a.Probe == window {
			r.UV.U += 0.0020 * math.Sin(2*math.Pi*r.At.Seconds()/37)
		}
	}
	b.ended(nil)
	visits, told := map[string]int{}, 0
	for _, e := range b.log {
		if e.Kind == KindVerify {
			visits[e.Fixture]++
		}
		if e.Kind == KindReference && strings.Contains(e.Note, "goes to and fro") {
			told++
		}
	}
	for name, n := range visits {
		if n > swayRounds+2 {
			t.Errorf("%s was visited again %d times", name, n)
		}
	}
	if told != 1 {
		t.Errorf("it was said %d times that the reference goes to and fro", told)
	}
	for _, u := range b.c.units[1:] {
		if o := u.outcome; !o.Landed() && !strings.Contains(o.Reason, "moving_reference: freeze") {
			t.Errorf("%s: %s (%s)", u.Info.Name, o.Result, o.Reason)
		}
	}
}
