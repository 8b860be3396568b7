package quality

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc/spectrum"
)

// What the adapted eye says of a mix is the Rf of CIE 224 that the mix has, and the quadratic form that a
// mix is chosen by follows its differences where they are small.
func TestAdaptedEyeTellsTheRfOfAMix(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	band := func(peak, width float64) spectrum.Spectrum {
		return spectrum.Visible5.On(func(nm float64) float64 { return math.Exp(-(nm - peak) * (nm - peak) / (2 * width * width)) })
	}
	emitters := []Emitter{{band(625, 40), 1}, {band(530, 45), 2}, {band(455, 30), 0.4}, {band(580, 60), 2}}
	for range 20 {
		p := []float64{0.4 + 0.2*r.Float64(), 0.3 + 0.3*r.Float64(), 0.6 + 0.3*r.Float64(), 0.4 + 0.3*r.Float64()}
		mix := spectrum.Visible5.On(func(float64) float64 { return 0 })
		for j, e := range emitters {
			mix = mix.Add(e.Spectrum.Scale(p[j] * e.Luminance / e.Spectrum.XYZ(spectrum.Deg2).Y))
		}
		want, err := TM30(mix)
		if err != nil {
			t.Fatal(err)
		}
		m, err := NewMixing(RenderingReference(want.CCT), emitters, AdaptedEye())
		if err != nil {
			t.Fatal(err)
		}
		d, err := m.Judge(p)
		if err != nil {
			t.Fatal(err)
		}
		if got := FidelityOf(d[0].Mean); math.Abs(got-want.Rf) > 0.01 {
			t.Errorf("%.0f K: Rf %v, want %v", float64(want.CCT), got, want.Rf)
		}
		if want.Rf < 85 || math.Abs(float64(want.Duv)) > 0.004 {
			continue
		}
		light := 0.0
		for j, e := range emitters {
			light += p[j] * e.Luminance / 2
		}
		for j := range p {
			p[j] /= light
		}
		de := make([]float64, Samples)
		m.Predict(de, p)
		for i, v := range de {
			if math.Abs(v-d[0].DE[i]) > 0.15*d[0].DE[i]+0.3 {
				t.Errorf("CES%02d: predicted %v, is %v", i+1, v, d[0].DE[i])
			}
		}
	}
}
