package loop

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc"
)

// samplesOf reads a light that moves exponentially from one colour to another
// with a time constant, once every period.
func samplesOf(rng *rand.Rand, tau, period time.Duration, n int, sigma float64) []Sample {
	var out []Sample
	for i := 1; i <= n; i++ {
		at := time.Duration(i) * period
		left := math.Exp(-float64(at) / float64(tau))
		out = append(out, Sample{After: at, UV: colorcalc.UV{U: 0.2 + 0.05*left + sigma*rng.NormFloat64(), V: 0.5 + sigma*rng.NormFloat64()},
			LnY: 5 - 2*left + 0.005*rng.NormFloat64()})
	}
	return out
}

// The dead time found is long enough that what is left of the move is below
// noise, and no longer than that by more than a few readings.
func TestDeadTimeOfALightThatFadesIn(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, tau := range []time.Duration{20 * time.Millisecond, 100 * time.Millisecond, 400 * time.Millisecond} {
		const period = 100 * time.Millisecond
		var d *DeadTime
		learnt := false
		for n := 4; n <= 60 && !learnt; n++ {
			d = NewDeadTime(0)
			learnt = d.Learn(samplesOf(rng, tau, period, n, 0.0003), 0.0003, 0.005)
		}
		if !learnt {
			t.Errorf("tau %v: nothing learnt", tau)
			continue
		}
		if left := 0.05 * math.Exp(-float64(d.Wait()+period)/float64(tau)); left > 0.002 {
			t.Errorf("tau %v: waits %v, and %.4f of the move is still to come", tau, d.Wait(), left)
		}
		if d.Wait() > 8*tau+2*period {
			t.Errorf("tau %v: waits %v", tau, d.Wait())
		}
	}
}

func TestDeadTimeLearnsNothingFromAMovingLight(t *testing.T) {
	d := NewDeadTime(0)
	var moving []Sample
	for i := range 8 {
		moving = append(moving, Sample{After: time.Duration(i) * 100 * time.Millisecond, UV: colorcalc.UV{U: 0.2 + 0.01*float64(i), V: 0.5}, LnY: math.NaN()})
	}
	if d.Learn(moving, 0.0003, 0.005) {
		t.Error("a light that still moves taught a dead time")
	}
	if d.Learn(moving[:3], 0.0003, 0.005) {
		t.Error("three readings taught a dead time")
	}
	if d.Wait() != DefaultDeadTime {
		t.Errorf("waits %v without knowledge", d.Wait())
	}
}

func TestAHintIsKeptButNeverUndercutsTheWire(t *testing.T) {
	if w := NewDeadTime(700 * time.Millisecond).Wait(); w != 700*time.Millisecond {
		t.Errorf("hint of 700 ms gives %v", w)
	}
	if w := NewDeadTime(time.Millisecond).Wait(); w != MinDeadTime {
		t.Errorf("hint of 1 ms gives %v", w)
	}
}
