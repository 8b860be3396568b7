package quality_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
)

type differVector struct {
	Mean, Max, Skin, White float64
	Worst                  string
}

func (v differVector) check(t *testing.T, name string, d *quality.Differences) {
	t.Helper()
	if !near(d.Mean, v.Mean, 1e-6) || !near(d.Max, v.Max, 1e-6) || !near(d.Skin, v.Skin, 1e-6) || !near(d.White, v.White, 1e-6) || fmt.Sprintf("CES%02d", d.Worst) != v.Worst {
		t.Errorf("%s: %v %v CES%02d %v %v, want %+v", name, d.Mean, d.Max, d.Worst, d.Skin, d.White, v)
	}
}

func camera(t testing.TB, path string) *quality.Camera {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c, err := quality.ReadCamera(f)
	if err != nil {
		t.Fatal(path, err)
	}
	return c
}

const inventedCamera = "../../examples/cameras/invented-camera.csv"

func TestLikenessAgreesWithTheVectors(t *testing.T) {
	type name struct {
		Test      string
		Source    string `json:"test_source"`
		Reference string
		RefSource string `json:"reference_source"`
	}
	var f struct {
		Published []struct {
			name
			TLMF, Tolerance float64
		}
		Spectra map[string][]float64
		Pairs   []struct {
			name
			TLMF struct {
				Q, DEa, Luma float64
				Excluded     []int
				DE           []float64
			}
			SSI         float64
			Deg2, Deg10 differVector
			TLCICamera  differVector `json:"tlci_camera"`
			Invented    differVector `json:"camera_invented"`
		}
	}
	vectors(t, "likeness.json", &f)
	if len(f.Pairs) < 25 || len(f.Published) < 1 {
		t.Fatal("vectors are missing")
	}
	light := func(name, kind string) spectrum.Spectrum {
		if kind != "here" {
			return source(t, name, kind)
		}
		s, err := spectrum.New(380, 5, f.Spectra[name])
		if err != nil {
			t.Fatal(name, err)
		}
		return s
	}
	for _, v := range f.Published {
		m, err := quality.TLMF(light(v.Test, v.Source), light(v.Reference, v.RefSource))
		if err != nil || !near(m.Q, v.TLMF, v.Tolerance) {
			t.Errorf("published %s on %s: %+v, %v, want %v", v.Test, v.Reference, m, err, v.TLMF)
		}
	}
	standard, invented := camera(t, "tlci_camera.csv"), camera(t, inventedCamera)
	for _, v := range f.Pairs {
		name := v.Test + " on " + v.Reference
		a, b := light(v.Test, v.Source), light(v.Reference, v.RefSource)
		r, err := quality.Compare(a, b, standard)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		m := r.TLMF
		if !near(m.Q, v.TLMF.Q, 1e-6) || !near(m.DEa, v.TLMF.DEa, 1e-6) || !near(m.Luma, v.TLMF.Luma, 1e-6) || !slices.Equal(m.Excluded, v.TLMF.Excluded) || !near(r.SSI, v.SSI, 1e-3) {
			t.Errorf("%s: %+v, SSI %v, want %+v, %v", name, m, r.SSI, v.TLMF, v.SSI)
		}
		for k, want := range v.TLMF.DE {
			if !near(m.DE[k], want, 1e-6) {
				t.Errorf("%s sample %d: %v, want %v", name, k+1, m.DE[k], want)
			}
		}
		v.Deg2.check(t, name+", 2 degrees", r.Deg2)
		v.Deg10.check(t, name+", 10 degrees", r.Deg10)
		v.TLCICamera.check(t, name+", standard camera", r.Camera)
		if r, err = quality.Compare(a, b, invented); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		v.Invented.check(t, name+", invented camera", r.Camera)
	}
}

// A light is like itself at any level, and which of two is the reference counts.
func TestALightIsLikeItselfAndTheReferenceCounts(t *testing.T) {
	cam := camera(t, inventedCamera)
	a, b := source(t, "FL2", "table"), source(t, "D65", "table")
	r, err := quality.Compare(a.Scale(7), a, cam)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []float64{100 - r.TLMF.Q, 100 - r.SSI, r.Deg2.Max, r.Deg10.Max, r.Camera.Max, r.Deg2.White, r.Deg2.DarkSkin} {
		if !near(v, 0, 1e-9) {
			t.Errorf("a light beside itself, brighter: %+v", r)
			break
		}
	}
	there, _ := quality.TLMF(a, b)
	back, _ := quality.TLMF(b, a)
	if !near(there.Q, 5.376, 1e-3) || !near(back.Q, 4.34, 5e-3) {
		t.Errorf("FL2 on D65 %v, D65 on FL2 %v, want 5.376 and 4.34", there.Q, back.Q)
	}
}

func TestWhatIsNoCameraSaysSo(t *testing.T) {
	rows := func(f string) string {
		var b strings.Builder
		for nm := 380; nm <= 780; nm += 100 {
			fmt.Fprintf(&b, "%d%s\n", nm, f)
		}
		return b.String()
	}
	for text, want := range map[string]string{
		"":                                 "empty",
		rows(",1,2"):                       "2 columns after the wavelength: a camera has three",
		rows(",1,2,3,4"):                   "4 columns",
		"nm,r,g,b\n400,1,2,3\n500,1,x,3\n": `line 3, column 3: value "x" is not a number`,
		"nm,r,g,b\n400,1,2,3\n300,1,1,3\n": "line 3, column 1: wavelength 300",
		rows(",1,0,3"):                     "no value above zero",
		strings.ReplaceAll(rows(",1,2,3"), "\n", "\n\n"): "",
	} {
		c, err := quality.ReadCamera(strings.NewReader(text))
		if want == "" {
			if err != nil {
				t.Fatal(err)
			}
			// Three flat channels are the same channel.
			if _, err := quality.Compare(source(t, "FL2", "table"), source(t, "D65", "table"), c); err == nil || !strings.Contains(err.Error(), "do not tell colours apart") {
				t.Errorf("flat channels: %v", err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// Whatever the text, it is refused or its differences are numbers.
func FuzzReadCamera(f *testing.F) {
	for _, text := range []string{
		"nm,r,g,b\n400,0,0,1\n450,0,1,2\n500,0,2,1\n550,1,1,0\n600,2,0,0\n", // a camera
		"400;0;0;1,5\n450;0;1;2\n500;0;2;1\n550;1;1;0\n600;2;0;0\n",         // decimal comma
		"400 1e300 0 1\n450 0 1 2\n500 0 2 1\n550 1 1 0\n600 2 0 0\n",       // no sensitivity
		"1e9,1,1,1\n", "\ufeff# none\n", "380,-1,1,1\n",
	} {
		f.Add(text)
	}
	a, b := source(f, "FL2", "table"), source(f, "D65", "table")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := quality.ReadCamera(strings.NewReader(text))
		if err != nil {
			return
		}
		r, err := quality.Compare(a, b, c)
		if err != nil {
			return
		}
		if d := r.Camera; math.IsNaN(d.Mean+d.White+d.Skin+d.DarkSkin) || d.Mean < 0 || d.Max < d.Mean {
			t.Errorf("%+v", d)
		}
	})
}

func BenchmarkTLMF(b *testing.B) {
	s, r := source(b, "FL11", "table"), source(b, "D50", "table")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.TLMF(s, r); err != nil {
			b.Fatal(err)
		}
	}
}

// The means over the CES samples for both CIE observers and a camera, with TLMF and SSI.
func BenchmarkCompare(b *testing.B) {
	s, r, c := source(b, "FL11", "table"), source(b, "D50", "table"), camera(b, inventedCamera)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := quality.Compare(s, r, c); err != nil {
			b.Fatal(err)
		}
	}
}
