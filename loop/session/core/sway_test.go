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
