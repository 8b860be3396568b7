package plan

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
)

type mixVector struct {
	Reference string
	Source    string `json:"reference_source"`
	Emitters  []struct {
		Kind  string
		Y     float64
		Terms [][4]float64
	}
	Top       float64
	Brightest []float64
	Solutions []struct {
		Set           string
		Floor, F      float64
		FB            float64 `json:"f_brightest"`
		Level         float64
		MeanBrightest float64 `json:"mean_brightest"`
		BestKnown     float64 `json:"best_known_mean"`
	}
}

func readVectors(t testing.TB, name string, out any) {
	t.Helper()
	data, err := os.ReadFile("../../../testdata/colour/" + name)
	if err == nil {
		err = json.Unmarshal(data, out)
	}
	if err != nil {
		t.Fatal(err)
	}
}

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

func TestMixesMostAlikeAgreeWithTheVectors(t *testing.T) {
	var f struct {
		Spectra map[string][]float64
		Mixes   []mixVector
	}
	var synthetic struct{ Spectra map[string][]float64 }
	readVectors(t, "likeness.json", &f)
	readVectors(t, "synthetic_spectra.json", &synthetic)
	file, err := os.Open("../../../colorcalc/quality/tlci_camera.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	cam, err := quality.ReadCamera(file)
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for _, v := range f.Mixes {
		ref, ok := spectrum.Illuminant(v.Reference)
		if v.Source != "table" {
			values := f.Spectra[v.Reference]
			if v.Source == "synthetic" {
				values = synthetic.Spectra[v.Reference]
			}
			ref, err = spectrum.New(380, 5, values)
			ok = err == nil
		}
		if !ok {
			t.Fatal(v.Reference, err)
		}
		// The sums of the vectors run over 380 to 780 nm.
		ref = ref.Resample(spectrum.Visible5)
		xy, _ := ref.XY()
		var p Palette
		var emitters []quality.Emitter
		for _, e := range v.Emitters {
			s := bands(e.Terms)
			c := s.XYZ(spectrum.Deg2)
			emitters = append(emitters, quality.Emitter{Spectrum: s, Luminance: e.Y})
			p.Full, p.Most = append(p.Full, c.Scale(e.Y/c.Y)), append(p.Most, 1)
		}
		m, err := quality.NewMixing(ref, emitters, cam.Observer("standard"))
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range v.Solutions {
			if s.Set != "tlci_camera" {
				continue // the cameras of the other set are not described
			}
			checked++
			bright, err := Brightest(m, p, xy.UV())
			if err != nil {
				t.Fatal(v.Reference, err)
			}
			top := 0.0
			for j, l := range bright.Lights {
				top += l * p.Full[j].Y
				if math.Abs(l-v.Brightest[j]) > 1e-6 {
					t.Errorf("%s: brightest %v, want %v", v.Reference, bright.Lights, v.Brightest)
				}
			}
			if !close(top, v.Top, 1e-8) || !close(bright.Form, s.FB, 1e-5) || !close(bright.Means[0], s.MeanBrightest, 1e-6) {
				t.Errorf("%s: top %v form %v mean %v, want %v %v %v", v.Reference, top, bright.Form, bright.Means, v.Top, s.FB, s.MeanBrightest)
			}
			a, err := newAlike(m, p, xy.UV())
			if err == nil {
				err = a.begin(s.Floor, nil)
			}
			if err != nil {
				t.Fatal(err)
			}
			h := make([]float64, len(p.Full)*len(p.Full))
			m.Form(h, nil)
			a.minimise(h)
			plain, err := a.result(a.z)
			if err != nil || !close(plain.Form, s.F, 1e-5) || math.Abs(plain.Level-s.Level) > 1e-4 {
				t.Errorf("%s: form %v level %v, want %v %v (%v)", v.Reference, plain.Form, plain.Level, s.F, s.Level, err)
			}
			best, err := MostAlike(m, p, xy.UV(), s.Floor, true)
			if err != nil || !(best.Means[0] < 1.02*s.BestKnown) || best.Level < s.Floor-1e-9 {
				t.Errorf("%s: mean %v at level %v, the best known is %v (%v)", v.Reference, best.Means, best.Level, s.BestKnown, err)
			}
			if got := sum(best.Lights, p.Full).UV(); got.Dist(xy.UV()) > 1e-9 {
				t.Errorf("%s: it does not land: %v", v.Reference, got.Dist(xy.UV()))
			}
		}
	}
	if checked < 8 {
		t.Errorf("%d mixes checked, want 8", checked)
	}
}

func sum(lights []float64, full []colorcalc.XYZ) (c colorcalc.XYZ) {
	for j, l := range lights {
		c = c.Add(full[j].Scale(l))
	}
	return c
}

func close(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want) }
