package solve_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// spectral is a head whose emitters have spectra of their own, near those of its profile.
type spectral struct {
	spec    solve.Spec
	nominal []spectrum.Spectrum
	full    []spectrum.Spectrum // in lux at full
}

func peak(nm, fwhm, tail float64) spectrum.Spectrum {
	return spectrum.Visible5.On(func(w float64) float64 {
		f := fwhm
		if w > nm {
			f *= 1 + tail
		}
		return math.Exp(-4 * math.Ln2 * (w - nm) * (w - nm) / (f * f))
	})
}

func newSpectral(r *rand.Rand) *spectral {
	h := &spectral{}
	h.spec = solve.Spec{Name: "six", Kind: solve.Emitters}
	h.spec.Curve.Law = law.Linear
	for _, e := range []struct {
		name         string
		nm, fwhm, lx float64
	}{{"red", 630, 18, 120}, {"green", 523, 34, 250}, {"blue", 455, 22, 40}, {"lime", 552, 105, 350}, {"amber", 594, 17, 100}, {"cyan", 498, 30, 120}} {
		n := peak(e.nm, e.fwhm, 0.1)
		xy, _ := n.XY()
		true_ := peak(e.nm+4*r.NormFloat64(), e.fwhm*math.Exp(0.1*r.NormFloat64()), 0.1+0.3*r.Float64())
		h.nominal = append(h.nominal, n)
		h.full = append(h.full, true_.Scale(e.lx*math.Exp(0.1*r.NormFloat64())/true_.XYZ(spectrum.Deg2).Y))
		h.spec.Channels = append(h.spec.Channels, solve.Channel{Name: e.name, Max: 65535, Hi: 65535})
		h.spec.Emitters = append(h.spec.Emitters, solve.Emitter{Name: e.name, UV: xy.UV(), Flux: e.lx})
	}
	return h
}

func (h *spectral) light(d solve.Drive) spectrum.Spectrum {
	sum := spectrum.Visible5.On(func(float64) float64 { return 0 })
	for i, c := range d {
		sum = sum.Add(h.full[i].Scale(float64(c) / 65535))
	}
	return sum
}

// match plays a match to its end and gives the drive, the level and the last decision.
func (h *spectral) match(t *testing.T, r *rand.Rand, target colorcalc.UV, wish solve.Wish, like *solve.Likeness) (solve.Decision, solve.Drive, int) {
	t.Helper()
	o := solve.DefaultOptions()
	o.Wish, o.Likeness, o.SigmaUV = wish, like, 0.0002
	m, err := solve.New(h.spec, solve.Target{UV: target}, nil, o)
	if err != nil {
		t.Fatal(err)
	}
	var at solve.Drive
	now := time.Duration(0)
	for n := 0; n < 80; n++ {
		d := m.Next(now)
		if d.Action == solve.Done {
			return d, at, n
		}
		if d.Action == solve.Move {
			at = slices.Clone(d.Drive)
		}
		now += time.Second
		c := h.light(at).XYZ(spectrum.Deg2)
		uv := c.UV()
		uv.U += 0.0002 * r.NormFloat64()
		uv.V += 0.0002 * r.NormFloat64()
		m.Observe(solve.Reading{UV: uv, Y: c.Y * math.Exp(0.003*r.NormFloat64()), HasY: true, At: now, Drive: at})
	}
	t.Fatal("the match does not end")
	return solve.Decision{}, nil, 0
}

// A head with emitters to spare that is asked to look like its reference lands as it does without, and
// then looks more like it to cameras than with most white light, by its true spectra and to cameras
// that it was not chosen for; the level keeps its floor. Its profile knows each emitter's spectrum only nearly.
func TestLikenessLandsAndLooksMoreAlike(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 1))
	var ratios []float64
	for i := range 8 {
		h := newSpectral(r)
		kelvin := colorcalc.Kelvin(2800 + 500*float64(i))
		ref, err := spectrum.Planck(kelvin, spectrum.Visible5)
		if kelvin > 4500 {
			ref, err = spectrum.Daylight(kelvin, spectrum.Visible5)
		}
		if err != nil {
			t.Fatal(err)
		}
		xy, _ := ref.XY()
		like := &solve.Likeness{Reference: ref, Emitters: h.nominal, Observers: quality.ObserverSet(), Floor: 0.7}
		white, whiteAt, _ := h.match(t, r, xy.UV(), solve.MostWhite, nil)
		alike, alikeAt, n := h.match(t, r, xy.UV(), solve.Alike, like)
		if white.Outcome != solve.Landed || alike.Outcome != solve.Landed || n > 25 {
			t.Errorf("%.0f K: %v and, after %d readings, %v: %s", float64(kelvin), white.Outcome, n, alike.Outcome, alike.Reason)
			continue
		}
		truth := h.light(alikeAt)
		if off := truth.XYZ(spectrum.Deg2).UV().Dist(xy.UV()); off > 0.0015 {
			t.Errorf("%.0f K: landed %.4f off", float64(kelvin), off)
		}
		if k := truth.XYZ(spectrum.Deg2).Y / h.light(whiteAt).XYZ(spectrum.Deg2).Y; k < 0.65 {
			t.Errorf("%.0f K: %.2f of the light is left, the floor is 0.7", float64(kelvin), k)
		}
		is, err := quality.Compare(truth, ref, nil)
		if err != nil {
			t.Fatal(err)
		}
		was, err := quality.Compare(h.light(whiteAt), ref, nil)
		if err != nil {
			t.Fatal(err)
		}
		ratios = append(ratios, is.Deg10.Mean/was.Deg10.Mean)
	}
	slices.Sort(ratios)
	t.Logf("mean difference to the 10-degree eye beside most white light: %.2f", ratios)
	if len(ratios) == 0 || ratios[len(ratios)/2] > 0.8 {
		t.Errorf("median ratio %v, want at most 0.8", ratios)
	}
}
