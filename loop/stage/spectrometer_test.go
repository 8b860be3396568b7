package stage

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/dmx"
)

// A perfect spectrometer reads a spectrum of the very colour and level that the meter reads; the faults of
// an ordinary one move its colour by what such instruments do, and never the meter's own figures.
func TestSpectrometerTellsTheSpectrumOfTheLight(t *testing.T) {
	lamp := func() []Lamp {
		k := Kind{Name: "six", Emitters: emittersCalled("red", "green", "blue", "lime", "amber", "cyan"), Law: Linear, Heat: WarmLamp}
		l := Lamp{Name: "six", Unit: Draw(k, KindScatter, UnitScatter, 3, "a"), Universe: 1, Couple: map[string]float64{"mark": 600}}
		for i := range 6 {
			l.Channels = append(l.Channels, Channel{Role: RoleEmitter, Emitter: i, Max: 255})
			l.Wires = append(l.Wires, Wire{Slots: []dmx.Slot{dmx.Slot(i + 1)}})
		}
		return []Lamp{l}
	}
	read := func(spec *SpectroSpec) []Spoken {
		h := NewHall(lamp(), []Probe{{Name: "mark"}}, MeterSpec{Integration: 100 * time.Millisecond}, 9)
		if spec != nil {
			h.Spectrometers(*spec, 9)
		}
		h.Levels(1, []byte{120, 90, 60, 30, 20, 10})
		h.Advance(2 * time.Second)
		return h.Advance(time.Second)
	}
	bare, perfect, ordinary := read(nil), read(&SpectroSpec{}), read(&SpectroSpec{BandwidthNM: 8, Stray: 0.002, Sigma: 0.002, StepNM: 5})
	for i, r := range perfect {
		if r.Sample != bare[i].Sample || ordinary[i].Sample != bare[i].Sample || bare[i].Spectrum != nil {
			t.Fatalf("reading %d: a spectrum changed the meter: %v, %v, %v", i, bare[i].Sample, r.Sample, ordinary[i].Sample)
		}
		c := integrate((*[gridN]float64)(r.Spectrum.Values))
		if d := c.UV().Dist(r.Sample.XY.UV()); d > 5e-5 || math.Abs(c.Y/r.Sample.Lux-1) > 1e-4 {
			t.Errorf("reading %d: the spectrum is %.6f in u'v' and %.4f of the level off", i, d, c.Y/r.Sample.Lux)
		}
		o := ordinary[i].Spectrum
		if o.StepNM != 5 || len(o.Values) != 81 {
			t.Errorf("reading %d: %d values every %v nm", i, len(o.Values), o.StepNM)
		}
		if d := o.XYZ(spectrum.Deg2).UV().Dist(r.Sample.XY.UV()); d < 1e-5 || d > 0.01 {
			t.Errorf("reading %d: an ordinary spectrometer is %.6f off", i, d)
		}
	}
}

// judge is a camera that nothing else knows: three skewed bands, each with its own sum of a light, at one balance.
func judge(peaks [3]float64) func(spectrum.Spectrum) [3]float64 {
	return func(s spectrum.Spectrum) (v [3]float64) {
		for i, p := range s.Values {
			for k, nm := range peaks {
				z := (s.NM(i) - nm) / 38
				if z > 0 {
					z /= 1.5
				}
				v[k] += p / (1 + z*z*z*z)
			}
		}
		return v
	}
}

// Lamps with different emitters that a meter calls equal are not equal to a camera: the stage has what likeness is about.
func TestEqualToTheMeterIsNotEqualToACamera(t *testing.T) {
	mix := func(names ...string) spectrum.Spectrum { // to the colour of D50, by three emitters
		var p [3][gridN]float64
		var c [3]colorcalc.XYZ
		for i, n := range names {
			e, _ := Nominal(n)
			e.power(offsets{}, 0, 0, 1, &p[i])
			c[i] = integrate(&p[i])
		}
		share, ok := mix3(c[0], c[1], c[2], colorcalc.XY{X: 0.3457, Y: 0.3585}.UV().XYZ(100))
		if !ok {
			t.Fatal(names)
		}
		sum := spectrum.Spectrum{StartNM: gridFrom, StepNM: gridStep, Values: make([]float64, gridN)}
		for k := range p {
			for i := range sum.Values {
				sum.Values[i] += share[k] * p[k][i]
			}
		}
		return sum
	}
	a, b := mix("red", "green", "blue"), mix("warm white", "cool white", "cyan")
	if d := a.XYZ(spectrum.Deg2).UV().Dist(b.XYZ(spectrum.Deg2).UV()); d > 1e-4 {
		t.Fatalf("to the meter they are %v apart", d)
	}
	most := 0.0
	for _, peaks := range [][3]float64{{600, 535, 455}, {610, 525, 465}} {
		see := judge(peaks)
		va, vb := see(a), see(b)
		for k := range va {
			most = max(most, math.Abs(math.Log(va[k]/va[1]*vb[1]/vb[k])))
		}
	}
	if most < 0.02 {
		t.Errorf("to cameras they are the same within %.1f %%", 100*most)
	}
}
