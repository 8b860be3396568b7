package gel_test

import (
	"math"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
)

func white(t testing.TB, k colorcalc.Kelvin, d colorcalc.Duv) colorcalc.XY {
	t.Helper()
	c, err := colorcalc.White(k, d)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func names(c gel.Choice) string {
	var n []string
	for _, g := range c.Layers {
		n = append(n, g.Name)
	}
	return strings.Join(n, " + ")
}

func TestTheWantedShiftIsThatOfTheTemperatures(t *testing.T) {
	m, d, err := gel.Wanted(white(t, 5600, 0.001), white(t, 3200, -0.002))
	if err != nil || math.Abs(float64(m)-(1e6/3200-1e6/5600)) > 1e-6 || math.Abs(float64(d)+0.003) > 1e-9 {
		t.Errorf("%v mired, %v Duv, %v", m, d, err)
	}
	if _, _, err := gel.Wanted(colorcalc.XY{X: .15, Y: .06}, white(t, 3200, 0)); err == nil {
		t.Error("a blue has a wanted shift")
	}
}

// By Wien's law the conversion filters shift any black body by their mired,
// as far as Wien's law holds (within 4 % of the shift up to 4000 K).
func TestNominalConversionFiltersShiftByTheirMired(t *testing.T) {
	want := map[string]float64{"full": 131, "1/2": 65.5, "1/4": 32.75, "1/8": 16.375}
	for _, k := range []colorcalc.Kelvin{2500, 3200, 4000} {
		lit, err := spectrum.Planck(k, spectrum.Visible5)
		if err != nil {
			t.Fatal(err)
		}
		from, _ := lit.XY()
		for _, g := range gel.Nominal() {
			if err := g.Check(); err != nil {
				t.Error(err)
			}
			part, kind, _ := strings.Cut(g.Name, " ")
			to, err := lit.Through(*g.Spectrum).XY()
			if err != nil {
				t.Fatal(err)
			}
			m, d, err := gel.Wanted(from, to)
			if err != nil {
				t.Fatal(g.Name, err)
			}
			switch sign := map[string]float64{"warm": 1, "cool": -1}[kind]; {
			case sign != 0 && (math.Abs(float64(m)-sign*want[part]) > 0.04*want[part] || math.Abs(float64(d)) > 0.002):
				t.Errorf("%s at %v K shifts by %v mired, Duv %v", g.Name, k, m, d)
			case kind == "plus green" && !(d > 0), kind == "minus green" && !(d < 0):
				t.Errorf("%s at %v K shifts Duv by %v", g.Name, k, d)
			}
		}
	}
}

// The published figures of an ideal block of CC30 and CC05 on black bodies.
func TestNominalGreenFiltersAreOfTheirNominalDensity(t *testing.T) {
	for _, c := range []struct {
		k    colorcalc.Kelvin
		name string
		want float64
	}{{2856, "full minus green", -0.0235}, {2856, "full plus green", 0.0248}, {3200, "full minus green", -0.0282}, {3200, "full plus green", 0.0273}} {
		lit, _ := spectrum.Planck(c.k, spectrum.Visible5)
		from, _ := lit.XY()
		for _, g := range gel.Nominal() {
			if g.Name != c.name {
				continue
			}
			to, _ := lit.Through(*g.Spectrum).XY()
			if _, d, err := gel.Wanted(from, to); err != nil || math.Abs(float64(d)-c.want) > 0.0015 {
				t.Errorf("%s at %v K: Duv %v, %v, want about %v", c.name, c.k, d, err, c.want)
			}
		}
	}
}

func TestTheObviousFilterIsChosen(t *testing.T) {
	day, _ := spectrum.Daylight(5600, spectrum.Visible5)
	cs, err := gel.Choose(gel.Source{Spectrum: &day}, white(t, 3230, 0), gel.Nominal(), 3)
	if err != nil || len(cs) < 2 {
		t.Fatal(cs, err)
	}
	if names(cs[1]) != "full warm" || cs[1].Computed || len(cs[1].Notes) != 1 || !strings.Contains(cs[1].Notes[0], "nominal") {
		t.Errorf("%s: %+v", names(cs[1]), cs[1])
	}
	green, err := gel.Choose(gel.Source{XY: white(t, 3200, 0.012)}, white(t, 3200, 0), gel.Nominal(), 1)
	if err != nil || !strings.HasSuffix(names(green[1]), "minus green") || len(green[1].Notes) != 2 || !strings.Contains(green[1].Notes[0], "not known") || !(green[1].Stops > 0 && green[1].Stops < 1) {
		t.Errorf("%+v, %v", green, err)
	}
}

// Two layers are computed as the product of both, which a second way of
// computing must confirm: the light behind one as the source of the other.
func TestLayersMultiply(t *testing.T) {
	lamp := spectrum.WhiteLED(450, 22, 0.9, 590, 140, spectrum.Visible5)
	list := gel.Nominal()
	target := colorcalc.XY{X: .42, Y: .40}
	two, err := gel.Choose(gel.Source{Spectrum: &lamp}, target, list, 2)
	if err != nil || len(two) < 2 {
		t.Fatal(two, err)
	}
	c := two[len(two)-1]
	if len(c.Layers) != 2 {
		t.Fatalf("%s is chosen, want two layers", names(c))
	}
	behind := lamp.Through(*c.Layers[0].Spectrum)
	last, err := gel.Choose(gel.Source{Spectrum: &behind}, target, []gel.Gel{c.Layers[1]}, 1)
	if err != nil || last[1].Result.UV().Dist(c.Result.UV()) > 1e-12 {
		t.Errorf("%v, %v, want %v", last, err, c.Result)
	}
}

func TestAListOfShiftsIsAddedInMired(t *testing.T) {
	list := []gel.Gel{{Name: "a", Mired: 100, Transmission: 0.5}, {Name: "b", Mired: 30, Duv: 0.002}, {Name: "c", Mired: -60}}
	cs, err := gel.Choose(gel.Source{XY: white(t, 5600, 0)}, white(t, colorcalc.Kelvin(5600).Shift(130), 0.002), list, 2)
	if err != nil || names(cs[2]) != "a + b" || cs[2].Residual > 1e-6 || cs[2].StopsKnown || cs[2].Computed {
		t.Errorf("%+v, %v", cs, err)
	}
	if names(cs[1]) != "a" || !cs[1].StopsKnown || math.Abs(cs[1].Stops-1) > 1e-12 {
		t.Errorf("%+v", cs[1])
	}
}

func TestABrokenListIsRefused(t *testing.T) {
	bad := spectrum.Spectrum{StartNM: 380, StepNM: 5, Values: []float64{50, 60, 70}}
	from, to := gel.Source{XY: white(t, 5600, 0)}, white(t, 3200, 0)
	for name, list := range map[string][]gel.Gel{
		"empty": {}, "no name": {{Mired: 100}}, "far": {{Name: "a", Mired: 4000}}, "not a number": {{Name: "a", Mired: colorcalc.Mired(math.NaN())}},
		"percent": {{Name: "a", Spectrum: &bad}}, "many": make([]gel.Gel, gel.MaxGels+1), "transmission": {{Name: "a", Transmission: 60}},
	} {
		if cs, err := gel.Choose(from, to, list, 3); err == nil {
			t.Errorf("%s: %v", name, cs)
		}
	}
	if _, err := gel.Choose(gel.Source{XY: colorcalc.XY{X: .15, Y: .06}}, to, gel.Nominal(), 1); err == nil {
		t.Error("a blue of unknown spectrum is filtered")
	}
	if _, err := gel.Choose(from, colorcalc.XY{}, gel.Nominal(), 1); err == nil {
		t.Error("no target is accepted")
	}
}

// The figures of an ideal block, published for black bodies: CC30 shifts 3200 K
// by -0.0282 and +0.0273, and near nothing one unit shifts by 0.0010.
func TestCompensatingUnitsAreDerivedForTheLight(t *testing.T) {
	for _, c := range []struct {
		k     colorcalc.Kelvin
		d     colorcalc.Duv
		want  float64
		green bool
	}{{3200, -0.0282, 30, false}, {3200, 0.0273, 30, true}, {2856, -0.0235, 30, false}, {3200, -0.0050, 5, false}, {2856, -0.00425, 5, false}} {
		cc, green, err := gel.CC(gel.Source{XY: white(t, c.k, 0)}, c.d)
		if err != nil || green != c.green || math.Abs(cc-c.want) > 0.08*c.want {
			t.Errorf("%v K %+v: CC%.2f green %v, %v, want CC%v", c.k, c.d, cc, green, err, c.want)
		}
	}
	if cc, _, err := gel.CC(gel.Source{XY: white(t, 3200, 0)}, -0.2); err == nil {
		t.Errorf("CC%v for Duv -0.2", cc)
	}
}

func BenchmarkChooseThreeLayersOfAHundred(b *testing.B) {
	var list []gel.Gel
	for i := range 100 {
		g := gel.Nominal()[i%16]
		s := g.Spectrum.Scale(1 - float64(i)/1000)
		list = append(list, gel.Gel{Name: g.Name, Spectrum: &s})
	}
	lamp := spectrum.WhiteLED(450, 22, 0.9, 590, 140, spectrum.Visible5)
	for b.Loop() {
		if _, err := gel.Choose(gel.Source{Spectrum: &lamp}, colorcalc.XY{X: .42, Y: .40}, list, 3); err != nil {
			b.Fatal(err)
		}
	}
}
