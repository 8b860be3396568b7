package spectrum_test

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// bands is a spectrum of Gaussian bands: height, peak, full widths below and above, nm.
func bands(terms [][4]float64) spectrum.Spectrum {
	return spectrum.Visible5.On(func(nm float64) (v float64) {
		for _, t := range terms {
			w := t[2]
			if nm > t[1] {
				w = t[3]
			}
			v += t[0] * math.Exp(-4*math.Ln2*(nm-t[1])*(nm-t[1])/(w*w))
		}
		return v
	})
}

// asSum is XYZ of a plain sum over 5 nm as Spectrum.XYZ counts.
func asSum(c []float64) colorcalc.XYZ {
	return colorcalc.XYZ{X: c[0], Y: c[1], Z: c[2]}.Scale(spectrum.Km * 5)
}

func TestBendsAgreeWithTheVectors(t *testing.T) {
	data, err := os.ReadFile("../../testdata/colour/likeness.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct {
		Bends []struct {
			Kind                   string
			Terms                  [][4]float64
			XYZ                    []float64
			A, B, C, Centroid, RMS float64
			S                      map[string]float64
		}
	}
	if err := json.Unmarshal(data, &f); err != nil || len(f.Bends) < 6 {
		t.Fatal(err, len(f.Bends))
	}
	for _, v := range f.Bends {
		s := bands(v.Terms)
		s = s.Scale(v.XYZ[1] * spectrum.Km * 5 / s.XYZ(spectrum.Deg2).Y)
		b, err := s.BendTo(asSum(v.XYZ))
		if err != nil {
			t.Errorf("%s: %v", v.Kind, err)
			continue
		}
		for _, p := range [][2]float64{{b.A, v.A}, {b.B, v.B}, {b.C, v.C}, {b.CentroidNM, v.Centroid}, {b.RMSNM, v.RMS}} {
			if math.Abs(p[0]-p[1]) > 1e-6 {
				t.Errorf("%s: %+v, want %v %v %v", v.Kind, b, v.A, v.B, v.C)
				break
			}
		}
		bent := b.Of(s)
		for nm, want := range v.S {
			at, _ := strconv.ParseFloat(nm, 64)
			if got := bent.At(at); math.Abs(got-want) > 1e-7 {
				t.Errorf("%s at %s nm: %v, want %v", v.Kind, nm, got, want)
			}
		}
	}
}

// A Gaussian bent to the colour of another Gaussian is that one: peak and width move.
func TestABentGaussianIsAGaussian(t *testing.T) {
	from, to := bands([][4]float64{{1, 528, 34, 34}}), bands([][4]float64{{0.7, 522, 30, 30}})
	b, err := from.BendTo(to.XYZ(spectrum.Deg2))
	if err != nil {
		t.Fatal(err)
	}
	got := b.Of(from)
	for i, want := range to.Values {
		if math.Abs(got.Values[i]-want) > 1e-6 {
			t.Fatalf("at %v nm: %v, want %v", to.NM(i), got.Values[i], want)
		}
	}
}

func TestWhatCanNotBeBentSaysSo(t *testing.T) {
	red := bands([][4]float64{{1, 630, 18, 18}})
	if _, err := red.BendTo(colorcalc.XYZ{X: 0.1, Y: 0.1, Z: 9}); !errors.Is(err, spectrum.ErrBend) {
		t.Errorf("red to blue: %v", err)
	}
	if _, err := red.BendTo(colorcalc.XYZ{}); !errors.Is(err, spectrum.ErrBend) {
		t.Errorf("to nothing: %v", err)
	}
	if _, err := red.Scale(0).BendTo(colorcalc.XYZ{X: 1, Y: 1, Z: 1}); !errors.Is(err, spectrum.ErrNoLight) {
		t.Errorf("no light: %v", err)
	}
}
