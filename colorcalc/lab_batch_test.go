package colorcalc_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
)

// The published pairs, through the slice form.
func TestCIEDE2000OfSlicesGivesThePublishedPairs(t *testing.T) {
	var f struct {
		Pairs []struct {
			Lab1, Lab2 []float64
			Published  float64
			DE         float64 `json:"de2000"`
		}
	}
	vectors(t, "deltae.json", &f)
	if len(f.Pairs) != 34 {
		t.Fatalf("%d pairs", len(f.Pairs))
	}
	var p, q []colorcalc.Lab
	for _, v := range f.Pairs {
		p = append(p, colorcalc.Lab{L: v.Lab1[0], A: v.Lab1[1], B: v.Lab1[2]})
		q = append(q, colorcalc.Lab{L: v.Lab2[0], A: v.Lab2[1], B: v.Lab2[2]})
	}
	there, back := make([]float64, len(p)), make([]float64, len(p))
	colorcalc.DeltaE2000s(there, p, q)
	colorcalc.DeltaE2000s(back, q, p)
	for i, v := range f.Pairs {
		for _, got := range []float64{there[i], back[i]} {
			if !near(got, v.Published, 5.01e-5) || !near(got, v.DE, 1e-9) {
				t.Errorf("pair %d: %v, want %v (%v)", i+1, got, v.Published, v.DE)
			}
		}
	}
}

// Both forms are the same function, wherever the pair lies: all over the solid,
// on its axes, opposite, grey, equal, far and near.
func TestCIEDE2000OfSlicesIsThatOfPairs(t *testing.T) {
	coordinate := rapid.OneOf(rapid.Float64Range(-128, 128), rapid.SampledFrom([]float64{0, 1e-9, -1e-9, 1e-4, 1, -1, 100, -100, 1e-300, 1e9, 1e200}),
		rapid.Map(rapid.IntRange(-9, 9), func(k int) float64 { return float64(k) }))
	lab := rapid.Custom(func(t *rapid.T) colorcalc.Lab {
		return colorcalc.Lab{L: rapid.OneOf(rapid.Float64Range(0, 100), rapid.SampledFrom([]float64{0, 50, -1e4, 1e60, 1e90, 1e200})).Draw(t, "L"), A: coordinate.Draw(t, "a"), B: coordinate.Draw(t, "b")}
	})
	rapid.Check(t, func(t *rapid.T) {
		p, q := lab.Draw(t, "p"), lab.Draw(t, "q")
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			f := rapid.Float64Range(1e-9, 2).Draw(t, "f")
			q.A, q.B = -f*p.A, -f*p.B
		case 1:
			f := rapid.Float64Range(-1e-6, 1e-6).Draw(t, "f")
			q.A, q.B = p.A+f, p.B-f
		}
		var got [1]float64
		colorcalc.DeltaE2000s(got[:], []colorcalc.Lab{p}, []colorcalc.Lab{q})
		if want := colorcalc.DeltaE2000(p, q); got[0] != want && !near(got[0], want, 1e-9*(1+want)) && !(math.IsNaN(want) && math.IsNaN(got[0])) {
			t.Fatalf("%v %v: %v, want %v", p, q, got[0], want)
		}
	})
}

// labPairs are made-up colours with differences such as two lights make.
func labPairs(n int) (p, q []colorcalc.Lab) {
	r := rand.New(rand.NewPCG(1, 2))
	for range n {
		c := colorcalc.Lab{L: 20 + 75*r.Float64(), A: 120*r.Float64() - 60, B: 120*r.Float64() - 60}
		p = append(p, c)
		q = append(q, colorcalc.Lab{L: c.L + 3*r.NormFloat64(), A: c.A + 4*r.NormFloat64(), B: c.B + 4*r.NormFloat64()})
	}
	return p, q
}

// Both ways side by side, for the 99 samples of CIE 224.
func BenchmarkDeltaE2000Of99(b *testing.B) {
	p, q := labPairs(99)
	dst := make([]float64, 99)
	b.Run("one by one", func(b *testing.B) {
		for b.Loop() {
			for i := range dst {
				dst[i] = colorcalc.DeltaE2000(p[i], q[i])
			}
		}
	})
	b.Run("slice", func(b *testing.B) {
		for b.Loop() {
			colorcalc.DeltaE2000s(dst, p, q)
		}
	})
}
