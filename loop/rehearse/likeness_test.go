package rehearse

import (
	"math"
	"testing"

	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// strange is a camera that nothing else knows: its bands are lopsided, with tails up to the filter before its sensor.
func strange(t *testing.T) *quality.Camera {
	var c [3]spectrum.Spectrum
	for k, nm := range [3]float64{604, 537, 466} {
		c[k] = spectrum.Visible5.On(func(w float64) float64 {
			z := (w - nm) / 34
			if z > 0 {
				z /= 1.4
			}
			return 1 / (1 + z*z*z*z) / (1 + math.Exp((w-672)/8)) / (1 + math.Exp((400-w)/7))
		})
	}
	cam, err := quality.NewCamera(c)
	if err != nil {
		t.Fatal(err)
	}
	return cam
}

// A rig that asks for likeness lands as any other, tells the price before the first lamp, and its lamps then look more like
// the reference, by spectra that nobody but the stage knows, to a camera that nobody described. A run with spectra
// is played again from its journal (that is what World does of every run).
func TestLampsAskedForLikenessLookMoreAlike(t *testing.T) {
	means := map[solve.Wish]map[string]float64{}
	for _, wish := range []solve.Wish{solve.MostWhite, solve.Alike} {
		j := jobOf(t, "../../examples/camera-match/rig.yaml")
		j.Meters = map[string]session.Pace{"spectrometer": stageMeter}
		f, err := stage.LoadFile("../../examples/camera-match/stage.yaml")
		if err != nil {
			t.Fatal(err)
		}
		none := 0.0
		f.Spectro = &stage.SpectroFile{Bandwidth: &none, Stray: &none, Sigma: &none} // so that its spectra are the truth
		j.Stage = f
		j.Plan.Spend.Wish, j.Plan.Spend.Camera = wish, nil
		p, err := j.Play()
		if err != nil || p.Err != nil {
			t.Fatal(err, p.Err)
		}
		s, err := session.Summarise(p.Entries)
		if err != nil {
			t.Fatal(err)
		}
		first, told := -1, -1
		for i, e := range p.Entries {
			switch {
			case e.Kind == core.KindSpend && told < 0:
				told = i
			case e.Kind == core.KindOutcome && first < 0:
				first = i
			}
		}
		if (told >= 0 && told < first) != (wish == solve.Alike) {
			t.Errorf("%v: the price is entry %d, the first outcome %d", wish, told, first)
		}
		if s.Light == nil {
			t.Fatalf("%v: no spectrum of the reference", wish)
		}
		means[wish] = map[string]float64{}
		for _, x := range s.Fixtures {
			if s.IsReference(x) {
				continue
			}
			if !x.Final().Landed() || x.Light == nil {
				t.Errorf("%v: %s: %v, spectrum %v", wish, x.Name, x.Final(), x.Light != nil)
				continue
			}
			l, err := quality.Compare(*x.Light, *s.Light, strange(t))
			if err != nil {
				t.Fatal(err)
			}
			means[wish][x.Name] = l.Camera.Mean
			if q := x.Final().Likeness; wish == solve.Alike && (q == nil) != (x.Name == "four") {
				t.Errorf("%s: predicted likeness %v: claimed with spectra in the profile, and only then", x.Name, q)
			}
		}
	}
	for _, name := range []string{"seven 1", "seven 2"} {
		is, was := means[solve.Alike][name], means[solve.MostWhite][name]
		t.Logf("%s: mean difference to the camera %.2f, with most white light %.2f", name, is, was)
		if !(is < 0.75*was) {
			t.Errorf("%s: %.2f, with most white light %.2f", name, is, was)
		}
	}
	if a, b := means[solve.Alike]["four"], means[solve.MostWhite]["four"]; math.Abs(a-b) > 0.5 {
		t.Errorf("four: %.2f and %.2f, though it has no spectra to choose by", a, b)
	}
}
