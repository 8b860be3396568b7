package colorcalc

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Of errors that are normal and alike on u' and v', 95 of a hundred lie within the circle that is said to hold so many, and of means of as many readings as
// are asked for so many lie within the tolerance.
func TestScatterStaysWithinItsCircle(t *testing.T) {
	for _, square := range []float64{Square95, Radius95 * Radius95} {
		if got := math.Exp(-square / 2); math.Abs(got-0.05) > 1e-4 { // the squared radius is exponential with mean 2
			t.Errorf("%.5f lies outside the circle of 95 %%", got)
		}
	}
	const sigma, tolerance, times = 0.0008, 0.0010, 40000
	n := ReadingsFor(sigma, tolerance)
	rng := rand.New(rand.NewPCG(1, 95))
	share := func(n int) float64 {
		inside := 0
		for range times {
			var u, v float64
			for range n {
				u, v = u+sigma*rng.NormFloat64()/float64(n), v+sigma*rng.NormFloat64()/float64(n)
			}
			if math.Hypot(u, v) <= tolerance {
				inside++
			}
		}
		return float64(inside) / times
	}
	if enough, fewer := share(n), share(n-1); enough < 0.95 || fewer >= 0.95 {
		t.Errorf("of means of %d readings %.3f lie within the tolerance, of one less %.3f", n, enough, fewer)
	}
	// The counts of the laboratory's table.
	for sigma, want := range map[float64]int{0.0002: 1, 0.0003: 1, 0.0005: 2, 0.0008: 4, 0.0010: 6} {
		if got := ReadingsFor(sigma, 0.0010); got != want {
			t.Errorf("sigma %g: %d readings, want %d", sigma, got, want)
		}
	}
	if n := ReadingsFor(0, tolerance); n != 1 {
		t.Errorf("a meter without scatter takes %d readings", n)
	}
}

// Colours whose x and y are shown to four places scatter in u' and v' about as is said where that is most, for a deep blue, and by less than half of it among whites.
func TestRoundingScattersByNoMoreThanIsSaid(t *testing.T) {
	const step, times = 1e-4, 20000
	rng := rand.New(rand.NewPCG(2, 12))
	said := RoundingSigma(step)
	scatter := func(c XY) float64 {
		var square float64
		for range times {
			xy := XY{X: c.X + step*rng.Float64(), Y: c.Y + step*rng.Float64()}
			shown := XY{X: step * math.Round(xy.X/step), Y: step * math.Round(xy.Y/step)}
			d := shown.UV().Dist(xy.UV())
			square += d * d / 2 / times
		}
		return math.Sqrt(square)
	}
	for _, k := range []Kelvin{2700, 3200, 4000, 5600, 7500, 10000} {
		xy, err := White(k, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := scatter(xy); got > said/2 || got < said/4 {
			t.Errorf("a white of %.0f K scatters by %.2e for each axis, said to be %.2e at the most", float64(k), got, said)
		}
	}
	for name, xy := range map[string]XY{"red": {0.640, 0.330}, "green": {0.300, 0.600}, "blue": {0.150, 0.060}} { // the primaries of sRGB, IEC 61966-2-1
		if got := scatter(xy); got > 1.15*said || name == "blue" && got < said {
			t.Errorf("%s scatters by %.2e for each axis, said to be %.2e", name, got, said)
		}
	}
}
