package core

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The probability agrees with draws, and with the Rayleigh distribution in the
// centre: 1 - exp(-r^2/2) within r sigma.
func TestProbabilityWithinATolerance(t *testing.T) {
	for _, r := range []float64{0.5, 1, 2.448, 4} {
		if got, want := withinCircle(0, 0.0004, r*0.0004), 1-math.Exp(-r*r/2); math.Abs(got-want) > 1e-3 {
			t.Errorf("centre, %g sigma: %g, Rayleigh says %g", r, got, want)
		}
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct{ d, sd float64 }{{0.0005, 0.0003}, {0.0010, 0.0002}, {0.0015, 0.0005}, {0.003, 0.0002}} {
		in, n := 0, 200000
		for range n {
			if math.Hypot(c.d+c.sd*rng.NormFloat64(), c.sd*rng.NormFloat64()) <= 0.001 {
				in++
			}
		}
		if got, want := withinCircle(c.d, c.sd, 0.001), float64(in)/float64(n); math.Abs(got-want) > 0.004 {
			t.Errorf("%+v: %g, draws say %g", c, got, want)
		}
	}
	if withinCircle(0.0005, 0, 0.001) != 1 || withinCircle(0.0015, 0, 0.001) != 0 {
		t.Error("an exact distance is in or out")
	}
}
