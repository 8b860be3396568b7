package colorcalc_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"trueup/colorcalc"
)

// Every conversion comes back to 1e-12 anywhere on the diagram.
func TestEveryConversionComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.001, 0.8).Draw(t, "x")
		c := colorcalc.XY{X: x, Y: rapid.Float64Range(0.002, 0.999-x).Draw(t, "y")}
		level := math.Exp(rapid.Float64Range(-7, 12).Draw(t, "ln Y"))
		same := func(what string, d colorcalc.XY) {
			if !near(d.X, c.X, 1e-12) || !near(d.Y, c.Y, 1e-12) {
				t.Fatalf("%v comes back from %s as %v", c, what, d)
			}
		}
		same("u'v'", c.UV().XY())
		same("uv 1960", c.UV60().XY())
		same("u'v' by way of uv 1960", c.UV().UV60().UV().XY())
		same("XYZ", c.XYZ(level).XY())
		same("XYZ of u'v'", c.UV().XYZ(level).XY())
		same("u'v' of XYZ", c.XYZ(level).UV().XY())

		white := colorcalc.XYZ{X: 95.047, Y: 100, Z: 108.883}
		xyz := c.XYZ(level)
		lab, ok := xyz.Lab(white)
		back := lab.XYZ(white)
		if !ok || !near(back.X, xyz.X, 1e-9*xyz.X) || !near(back.Y, xyz.Y, 1e-9*xyz.Y) || !near(back.Z, xyz.Z, 1e-9*(xyz.Z+xyz.Y)) {
			t.Fatalf("%v comes back from Lab %v as %v", xyz, lab, back)
		}
		for _, s := range colorcalc.RGBSpaces {
			if b := s.XYZ(s.RGB(xyz)); !near(b.X, xyz.X, 1e-11*(xyz.X+xyz.Y+xyz.Z)) || !near(b.Z, xyz.Z, 1e-11*(xyz.X+xyz.Y+xyz.Z)) {
				t.Fatalf("%v comes back from %s as %v", xyz, s.Name, b)
			}
		}
	})
}

// The temperature moves smoothly at every distance from the locus, also where
// the search passes from one entry of its table to the next: the second
// difference along a line of equal Duv is that of a smooth curve.
func TestNoSeamAnywhereOnTheLocus(t *testing.T) {
	for _, d := range []colorcalc.Duv{-0.045, -0.01, -0.002, 0, 0.002, 0.01} {
		const step = 0.001 // of ln T: twenty points between entries
		var last, slope float64
		for i := 0; ; i++ {
			want := math.Log(2500) + step*float64(i)
			if want > math.Log(24000) {
				break
			}
			c, err := colorcalc.White(colorcalc.Kelvin(math.Exp(want)), d)
			if err != nil {
				t.Fatal(err)
			}
			// A fixed nudge in u', v' instead of the exact point, so that this is
			// not the round trip again.
			uv := c.UV()
			k, _, err := colorcalc.CCT(colorcalc.UV{U: uv.U + 2e-4, V: uv.V + 1e-4}.XY())
			if err != nil {
				t.Fatal(err)
			}
			now := math.Log(float64(k))
			if i > 1 && !near(now-last, slope, 2e-5) {
				t.Fatalf("Duv %v, %.1f K: a step of %v after %v", d, math.Exp(want), now-last, slope)
			}
			slope, last = now-last, now
		}
	}
}
