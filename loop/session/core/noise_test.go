package core

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"trueup/colorcalc"
)

// A meter's true scatter is found within a tenth from many repeats, and from
// few repeats the answer stays between the assumption and the truth.
func TestMeterNoiseFindsTheTrueScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for _, truth := range []float64{0.0002, 0.0008} {
		for _, n := range []int{8, 400} {
			var uv []colorcalc.UV
			var lnY []float64
			for range n {
				uv = append(uv, colorcalc.UV{U: 0.2 + truth*rng.NormFloat64(), V: 0.5 + truth*rng.NormFloat64()})
				lnY = append(lnY, 5+0.01*rng.NormFloat64())
			}
			var m meterNoise
			m.learn(uv, lnY)
			got := m.sigmaUV()
			if n == 400 && math.Abs(got/truth-1) > 0.1 {
				t.Errorf("truth %g: found %g from %d repeats", truth, got, n)
			}
			if n == 8 && (got-assumedSigmaUV)*(truth-assumedSigmaUV) < 0 {
				t.Errorf("truth %g: found %g from %d repeats, on the wrong side of the assumption", truth, got, n)
			}
		}
	}
}

func TestMeterNoiseWithoutRepeatsIsTheAssumption(t *testing.T) {
	var m meterNoise
	m.learn([]colorcalc.UV{{U: 0.2, V: 0.5}}, []float64{math.NaN()})
	if m.sigmaUV() != assumedSigmaUV || m.sigmaLnY() != assumedSigmaLnY {
		t.Errorf("got %g %g", m.sigmaUV(), m.sigmaLnY())
	}
}

// What was assumed is forgotten as repeats come in, as older repeats are: a quiet meter is not held for a noisier one for ever,
// nor one whose noise has grown for a quieter one.
func TestTheAssumedNoiseIsForgotten(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for _, truth := range []float64{0.0002, 0.0015} {
		var m meterNoise
		mean, n := 0.0, 0
		for pass := range 200 {
			var uv []colorcalc.UV
			for range 3 {
				uv = append(uv, colorcalc.UV{U: 0.2 + truth*rng.NormFloat64(), V: 0.5 + truth*rng.NormFloat64()})
			}
			m.again(uv, nil)
			if pass >= 20 {
				mean, n = mean+m.sigmaUV()*m.sigmaUV(), n+1
			}
		}
		if got := math.Sqrt(mean / float64(n)); math.Abs(got/truth-1) > 0.1 {
			t.Errorf("truth %g: %g is believed after many repeats", truth, got)
		}
	}
}

// A coarse or a smoothing meter repeats itself to the last digit. It is not believed to be without scatter for that: at the
// least the step of four digits of x and y, some 0.00003 as a standard deviation, is in every reading.
func TestRepeatsWithoutScatterTeachNoPerfectMeter(t *testing.T) {
	var m meterNoise
	for range 500 {
		m.again([]colorcalc.UV{{U: 0.2, V: 0.5}, {U: 0.2, V: 0.5}}, []float64{1, 1})
	}
	if m.sigmaUV() < 0.00003 || !(m.sigmaLnY() > 0.0005) {
		t.Errorf("%g and %g are believed of a meter that repeats itself", m.sigmaUV(), m.sigmaLnY())
	}
}

// Two outliers among the three readings of one stay do not make a meter's scatter believed ten times as large; a meter that has become so bad
// is found out in some stays.
func TestOutliersInOneStayTeachLittle(t *testing.T) {
	var m meterNoise
	rng := rand.New(rand.NewPCG(5, 9))
	var uv []colorcalc.UV
	var lnY []float64
	for range 10 {
		uv, lnY = append(uv, colorcalc.UV{U: 0.2 + 3e-4*rng.NormFloat64(), V: 0.5 + 3e-4*rng.NormFloat64()}), append(lnY, 5+0.005*rng.NormFloat64())
	}
	m.learn(uv, lnY)
	was := m.sigmaUV()
	m.again([]colorcalc.UV{{U: 0.2, V: 0.5}, {U: 0.21, V: 0.5}, {U: 0.2, V: 0.49}}, []float64{5, 5.2, 4.9})
	if m.sigmaUV() > 2*was || m.sigmaLnY() > 0.015 {
		t.Errorf("believed %.5f and %.4f after two outliers, %.5f before", m.sigmaUV(), m.sigmaLnY(), was)
	}
	for range 20 {
		m.again([]colorcalc.UV{{U: 0.2 + 3e-3*rng.NormFloat64(), V: 0.5 + 3e-3*rng.NormFloat64()}, {U: 0.2 + 3e-3*rng.NormFloat64(), V: 0.5 + 3e-3*rng.NormFloat64()}}, nil)
	}
	if s := m.sigmaUV(); s < 2e-3 || s > 4.5e-3 {
		t.Errorf("believed %.5f of a meter that scatters by 0.003 by now", s)
	}
}

// A hand over the meter takes light away and leaves its colour: among ten levels it does not make the meter's level look uncertain, by which
// everything slow would look steady.
func TestAHandDoesNotMakeTheLevelUncertain(t *testing.T) {
	var uv []colorcalc.UV
	var lnY []float64
	for i := range 10 {
		uv = append(uv, colorcalc.UV{U: 0.2, V: 0.5})
		lnY = append(lnY, 5+0.004*float64(i%3-1))
	}
	var without meterNoise
	without.learn(uv, lnY)
	for _, through := range []float64{0.08, 0.5, 0.85} {
		var with meterNoise
		with.learn(append(uv, uv[0]), append(slices.Clone(lnY), 5+math.Log(through)))
		if a, b := with.sigmaLnY(), without.sigmaLnY(); a > 1.05*b {
			t.Errorf("%.0f %% of the light let through once: the level scatters by %.4f, without that by %.4f", 100*through, a, b)
		}
	}
}
