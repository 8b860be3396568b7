package core

import (
	"math"
	"testing"

	"trueup/colorcalc"
)

// The figures of the study: up to 8 readings allow a background of 2.2, 1.1 and 0.4 times the
// lamp's light at a scatter of 0.0003, 0.0005 and 0.0008; without a background they are what
// a meter's noise alone asks for.
func TestReadingsThatABackgroundAsksFor(t *testing.T) {
	for sigma, share := range map[float64]float64{0.0003: 2.2, 0.0005: 1.1, 0.0008: 0.4} {
		if n := readingsBeside(share, sigma, 0.001); math.Abs(n-8) > 1 {
			t.Errorf("scatter %g, share %g: %.1f readings", sigma, share, n)
		}
		light := lightBeside(100, 8, sigma, 0.001)
		if n := readingsBeside(100/light, sigma, 0.001); math.Abs(n-8) > 1e-6 {
			t.Errorf("scatter %g: with %.1f lux it takes %.3f readings", sigma, light, n)
		}
		if n := readingsBeside(0, sigma, 0.001); math.Abs(n-float64(colorcalc.ReadingsFor(sigma, 0.001))) > 1 {
			t.Errorf("scatter %g, dark: %.2f readings", sigma, n)
		}
	}
	if l := lightBeside(100, 8, 0.002, 0.001); !math.IsInf(l, 1) {
		t.Errorf("no light does with such a meter: %g lux", l)
	}
}
