package core

import (
	"math"
	"testing"

	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
)

// A reading of the reference that was set aside is not in its spectrum either.
func TestAnOutlierIsNotInTheSpectrumOfTheReference(t *testing.T) {
	keep := func(level func(nm float64) float64) *spectrum.Kept {
		k, err := spectrum.Keep(spectrum.Visible5.On(level))
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	even := keep(func(float64) float64 { return 1 })
	blue := keep(func(nm float64) float64 { return math.Exp(-(nm - 450) * (nm - 450) / 800) })
	b := newBench(t, 1, func(c *Config) { c.Plan.Spend = Spend{Wish: solve.Alike, Floor: 0.7} })
	n := 0
	b.read = func(a Ask, r *Reading) {
		if a.Probe != "ref" {
			return
		}
		r.Spectrum = even
		if n++; n == 2 {
			r.UV.V -= 0.2
			r.Spectrum = blue
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the reference", func() bool { return b.c.ref != nil })
	if b.c.ref.Spectrum == nil || n < 4 {
		t.Fatalf("after %d readings: %+v", n, b.c.ref)
	}
	s := b.c.ref.Spectrum.Spectrum()
	if q := s.At(450) / s.At(600); math.Abs(q-1) > 0.01 {
		t.Errorf("an even spectrum has %.2f times the light at 450 nm", q)
	}
}
