package core

import (
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
)

// One hiccup of the meter among ten does not move the reference.
func TestAnOutlierDoesNotMoveTheReference(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	truth := colorcalc.UV{U: 0.22, V: 0.50}
	var uv []colorcalc.UV
	var lnY []float64
	for range 9 {
		uv = append(uv, colorcalc.UV{U: truth.U + 0.0003*rng.NormFloat64(), V: truth.V + 0.0003*rng.NormFloat64()})
		lnY = append(lnY, 5)
	}
	uv, lnY = append(uv, colorcalc.UV{U: 0.26, V: 0.48}), append(lnY, 5)
	near := byScatter(uv)
	kept, keptY := pick(uv, near), pick(lnY, near)
	if len(kept) != 9 || len(keptY) != 9 {
		t.Fatalf("kept %d of 10", len(kept))
	}
	if d := meanUV(kept).Dist(truth); d > 0.0004 {
		t.Errorf("mean %.4f off", d)
	}
}
