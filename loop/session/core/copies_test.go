package core

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
)

// A meter that sends each result five times, as it stands on its display, is told from one that sends each once, and from one that is
// so quiet that its rounded figures often stay the same.
func TestCopiesOfOneResultAreTold(t *testing.T) {
	for what, x := range map[string]struct {
		times        int
		sigma, level float64 // scatter of u' and v', and of the level as a share
		want         bool
	}{
		"each result five times": {5, 0.0003, 0.004, true},
		"each result thrice":     {3, 0.0003, 0.004, true},
		"each once":              {1, 0.0003, 0.004, false},
		"each once, quiet":       {1, 0.00002, 0.00003, false},
		"each once, quieter":     {1, 0.00001, 0.00001, false},
	} {
		for seed := range uint64(50) {
			rng := rand.New(rand.NewPCG(seed, 5))
			var k copies
			told := false
			for range 20 {
				x4, y4 := 0.3800+2*x.sigma*rng.NormFloat64(), 0.3800+2*x.sigma*rng.NormFloat64()
				xy := colorcalc.XY{X: math.Round(x4*1e4) / 1e4, Y: math.Round(y4*1e4) / 1e4}
				lux := math.Round(2000*(1+x.level*rng.NormFloat64())) / 10
				for range x.times {
					told = k.take(&Reading{UV: xy.UV(), Y: lux, HasY: true}) || told
				}
			}
			if told != x.want {
				t.Fatalf("%s, seed %d: told %v, want %v", what, seed, told, x.want)
			}
		}
	}
}
