package solve

import (
	"math"
	"testing"
)

// A low level that was asked for is no dark: a head whose coarse steps miss the tolerance there is called out of reach at that level, not where
// it stood.
func TestALowLevelThatWasAskedForIsNoDark(t *testing.T) {
	s := sevenSpec(4, 255)
	all := 0.0
	for _, e := range s.Emitters {
		all += e.Flux
	}
	for seed := range uint64(20) {
		l := unit(s, seed, 1)
		want := 0.02 * all * l.lux
		m, err := New(s, Target{UV: warmWhite, Tol: 0.001, Y: want, TolY: 0.05}, nil, DefaultOptions())
		if err != nil {
			t.Fatal(err)
		}
		d, _ := play(m, l)
		if y := l.light(d.Drive).Y; d.Outcome == OutOfReach && math.Abs(math.Log(y/want)) > 0.5 {
			t.Errorf("seed %d: %v at %.1f lux, %.1f are asked for (%s)", seed, d.Outcome, y, want, d.Reason)
		}
	}
}
