package gel_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
)

// Nothing is the first choice, and no other is offered that is not better: not
// for a light that is right already, nor for one that the list can not mend.
func TestNothingIsOfferedBeforeWhatIsWorse(t *testing.T) {
	for _, c := range []struct {
		from, to colorcalc.XY
		want     string
	}{
		{white(t, 3200, 0), white(t, 3200, 0), ""},
		{white(t, 5600, 0.001), white(t, 5600, 0.001), ""},
		{white(t, 5600, 0), white(t, 5590, 0), ""},
		{white(t, 3050, 0.003), white(t, 3200, 0), "1/4 cool + 1/8 minus green"},
	} {
		cs, err := gel.Choose(gel.Source{XY: c.from}, c.to, gel.Nominal(), 3)
		if err != nil {
			t.Fatal(err)
		}
		if first := cs[0]; len(first.Layers) != 0 || first.Stops != 0 || first.Result.UV().Dist(c.from.UV()) > 1e-9 || math.Abs(first.Residual-c.from.UV().Dist(c.to.UV())) > 1e-9 || len(first.Notes) != 0 {
			t.Errorf("the first choice is %+v, want the light as it is", first)
		}
		if got := names(cs[len(cs)-1]); got != c.want {
			t.Errorf("%v to %v: %q, want %q", c.from, c.to, got, c.want)
		}
	}
}

// randomList makes filters of random transmittance, as dyes have: smooth, with
// one band that may be narrow.
func randomList(r *rand.Rand, n int) []gel.Gel {
	list := make([]gel.Gel, n)
	for i := range list {
		a, b, c := r.Float64()*1.5, r.Float64()*1.5, r.Float64()*1.5
		band, width, depth := 420+r.Float64()*260, 15+r.Float64()*60, r.Float64()*3
		s := spectrum.Visible5.On(func(nm float64) float64 {
			x := (nm - 580) / 200
			y := (nm - band) / width
			return 0.92 * math.Exp(-a*(1+x)/2-b*(1-x)/2*(1-x)/2-c*math.Exp(-x*x*8)-depth*math.Exp(-y*y/2))
		})
		list[i] = gel.Gel{Name: fmt.Sprint("f", i), Spectrum: &s}
	}
	return list
}

// randomShifts makes filters known by their shift alone.
func randomShifts(r *rand.Rand, n int) []gel.Gel {
	list := make([]gel.Gel, n)
	for i := range list {
		list[i] = gel.Gel{Name: fmt.Sprint("s", i), Mired: colorcalc.Mired(240*r.Float64() - 80), Duv: colorcalc.Duv(0.012 * (r.Float64() - 0.5)), Transmission: 0.3 + 0.6*r.Float64()}
	}
	return list
}

// costOf is what a set leaves and loses, from what is known of filters: spectra
// multiply, and behind them shifts add up in mired and in Duv.
func costOf(light spectrum.Spectrum, goal colorcalc.XY, layers ...*gel.Gel) float64 {
	lit, m, d, pass := light, colorcalc.Mired(0), colorcalc.Duv(0), 1.0
	shifted := false
	for _, g := range layers {
		if g.Spectrum != nil {
			lit = lit.Through(*g.Spectrum)
		} else {
			m, d, pass, shifted = m+g.Mired, d+g.Duv, pass*g.Transmission, true
		}
	}
	c := lit.XYZ(spectrum.Deg2)
	xy := c.XY()
	if shifted {
		k, duv, err := colorcalc.CCT(xy)
		if err != nil {
			return math.Inf(1)
		}
		if xy, err = colorcalc.White(k.Shift(m), duv+d); err != nil {
			return math.Inf(1)
		}
	}
	return xy.UV().Dist(goal.UV()) - gel.PerStop*math.Log2(pass*c.Y/light.XYZ(spectrum.Deg2).Y)
}

// Of all sets of up to three layers the best is found: each set of random lists
// is worked out here as well, and what is chosen costs no more than the best.
func TestTheBestOfUpToThreeLayersIsFound(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 2000))
	for trial := range 80 {
		var list []gel.Gel
		switch n := []int{14, 14, 14, 36}[trial%4]; trial / 4 % 3 {
		case 0:
			list = randomList(r, n)
		case 1:
			list = randomShifts(r, n)
		default:
			list = append(randomList(r, n/2), randomShifts(r, n/2)...)
			r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		}
		light := spectrum.WhiteLED(450, 15+15*r.Float64(), 0.5+r.Float64(), 560+50*r.Float64(), 100+60*r.Float64(), spectrum.Visible5)
		goal := white(t, colorcalc.Kelvin(2500+4500*r.Float64()), colorcalc.Duv(0.02*(r.Float64()-0.5)))
		best := [4]float64{costOf(light, goal), math.Inf(1), math.Inf(1), math.Inf(1)}
		for i := range list {
			best[1] = min(best[1], costOf(light, goal, &list[i]))
			for j := i; j < len(list); j++ {
				best[2] = min(best[2], costOf(light, goal, &list[i], &list[j]))
				for k := j; k < len(list); k++ {
					best[3] = min(best[3], costOf(light, goal, &list[i], &list[j], &list[k]))
				}
			}
		}
		cs, err := gel.Choose(gel.Source{Spectrum: &light}, goal, list, 3)
		if err != nil {
			t.Fatal(err)
		}
		// What must come out: each number of layers that is worth it.
		want := []int{0}
		for n := 1; n <= 3; n++ {
			if best[n] < best[want[len(want)-1]]-gel.WorthALayer {
				want = append(want, n)
			}
		}
		var got []int
		for _, c := range cs {
			got = append(got, len(c.Layers))
			if d := c.Cost() - best[len(c.Layers)]; math.Abs(d) > 1e-6 {
				t.Errorf("list %d: %s costs %.6f, the best of %d layers %.6f", trial, names(c), c.Cost(), len(c.Layers), best[len(c.Layers)])
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("list %d: choices of %v layers, want %v (%.5f)", trial, got, want, best)
		}
	}
}
