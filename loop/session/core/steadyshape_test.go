package core

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A leap is told from warming of any time constant that lamps have, in seeded noise: of a hundred lamps that warm or stay none is
// taken to leap, of a hundred that leap as far most are.
func TestALeapIsToldFromWarming(t *testing.T) {
	const sigma, far = 0.0004, 0.0025
	d := rand.New(rand.NewPCG(5, 7))
	shown := func(moved func(seconds float64) float64) (n int) {
		for range 100 {
			var all []glance
			for s := 0.3; s < 9; s += 0.5 {
				by := far * moved(s)
				uv := colorcalc.UV{U: 0.2 + 0.6*by + sigma*d.NormFloat64(), V: 0.48 + 0.8*by + sigma*d.NormFloat64()}
				all = append(all, glance{time.Duration(s * float64(time.Second)), solve.Reading{UV: uv, SigmaUV: sigma}})
			}
			all[4].r.UV.U += 0.02 // an odd one
			if s := shapeOf(all); s.evidence > leapShown {
				n++
			}
		}
		return n
	}
	for _, tau := range []float64{4, 7, 30} {
		if n := shown(func(s float64) float64 { return -math.Expm1(-s / tau) }); n > 2 {
			t.Errorf("%d of 100 lamps that warm within %g s are taken to leap", n, tau)
		}
	}
	if n := shown(func(float64) float64 { return 0 }); n > 2 {
		t.Errorf("%d of 100 lamps that stay are taken to leap", n)
	}
	leap := func(s float64) float64 {
		if s < 4 {
			return 0
		}
		return 1
	}
	if n := shown(leap); n < 80 {
		t.Errorf("%d of 100 leaps are seen", n)
	}
	if s := shapeOf(nil); s != (shape{}) {
		t.Errorf("of no readings: %+v", s)
	}
}
