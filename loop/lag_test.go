package loop_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"trueup/loop"
)

// fadeIn feeds the level of a lamp that fades in with a time constant to a DeadTime, as a
// run does, and gives the wait that comes out.
func fadeIn(tau float64, seed uint64, odd int) time.Duration {
	const sigma = 0.005
	r := rand.New(rand.NewPCG(seed, 1))
	d := loop.NewDeadTime(0)
	var all []loop.Sample
	at := 0.2
	for k := range 20 {
		at += 0.3 + 0.4*r.Float64()
		y := 100 * (1 - math.Exp(-at/tau)) * math.Exp(sigma*r.NormFloat64())
		if k == odd {
			y *= 0.6
		}
		all = append(all, loop.Sample{After: time.Duration(at * 1e9), LnY: math.Log(y)})
		if d.Learn(all, 0.0005, sigma) {
			break
		}
	}
	return d.Wait()
}

// A slow lamp is waited for until next to nothing of a move is left: three time constants
// leave 5 % of it, 0.0005 of a move of 0.01.
func TestSlowLampIsWaitedForByItsTimeConstant(t *testing.T) {
	for _, tau := range []float64{0.7, 1, 1.5, 2} {
		t.Run(fmt.Sprint(tau), func(t *testing.T) {
			short := 0
			for seed := range uint64(200) {
				got := fadeIn(tau, seed, -1).Seconds()
				if got < 3*tau {
					short++
				}
				if got > 8*tau {
					t.Errorf("seed %d: waits for %.1f s", seed, got)
				}
			}
			if short > 10 {
				t.Errorf("%d of 200 wait for less than 3 time constants", short)
			}
		})
	}
}

// One odd reading of a fast lamp is no time constant.
func TestOneOddReadingIsNoLag(t *testing.T) {
	for seed := range uint64(200) {
		for odd := range 2 {
			if got := fadeIn(0.02, seed, odd); got > 3*time.Second {
				t.Errorf("seed %d, reading %d odd: waits for %v", seed, odd, got)
			}
		}
	}
}

// A level that comes at once, as when a shadow goes, is told from one that lags as it fades in: most shadows are; of lamps that lag one in a thousand is taken for one at the most, and
// of those that come late and stand soon one in ten.
func TestAShadowThatGoesIsToldFromALag(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	read := func(sigma float64, level func(at float64) float64, first, window float64) (s []loop.Sample) {
		at := first
		for len(s) < 5 {
			mean := 0.0
			for k := range 20 {
				mean += level(at+window*(float64(k)+0.5)/20) / 20
			}
			at += window
			s = append(s, loop.Sample{After: time.Duration(at * float64(time.Second)), Window: time.Duration(window * float64(time.Second)), LnY: math.Log(mean) + sigma*rng.NormFloat64()})
			if n := len(s); n > 2 && !loop.Differs(s[n-2], s[n-1], 0, sigma) {
				break
			}
			at += 0.05
		}
		return s
	}
	seen := func(s []loop.Sample, sigma float64) bool { return s[1].LnY-s[0].LnY > max(0.025, 6*sigma) }
	var lags, shadows, taken, told, lates, mistaken int
	for range 40000 {
		sigma, window, first := 0.001*math.Pow(10, rng.Float64()), 0.1+0.4*rng.Float64(), 0.2+1.3*rng.Float64()
		tau, fade := 0.1+rng.Float64(), 2*rng.Float64()
		left := tau / fade * -math.Expm1(-fade/tau) // at arrival
		if s := read(sigma, func(at float64) float64 { return 1 - left*math.Exp(-at/tau) }, first, window); seen(s, sigma) {
			lags++
			if loop.Steps(s, sigma) {
				taken++
			}
		}
		if late := first * rng.Float64(); tau > window/3 {
			if s := read(sigma, func(at float64) float64 { return 1 - min(1, left*math.Exp(-(at-late)/tau)) }, first, window); seen(s, sigma) {
				lates++
				if loop.Steps(s, sigma) {
					mistaken++
				}
			}
		}
		dip, goes := 0.1+0.4*rng.Float64(), first+window*rng.Float64()
		if s := read(sigma, func(at float64) float64 { return 1 - dip/(1+math.Exp((at-goes)/0.03)) }, first, window); seen(s, sigma) {
			shadows++
			if loop.Steps(s, sigma) {
				told++
			}
		}
	}
	if lags < 10000 || lates < 10000 || shadows < 10000 || 1000*taken > lags || 10*mistaken > lates || told < shadows*8/10 {
		t.Errorf("of %d lags %d are taken for shadows, of %d late ones %d; of %d shadows %d are told", lags, taken, lates, mistaken, shadows, told)
	}
	if loop.Steps([]loop.Sample{{LnY: 1}, {LnY: 2}}, 0.01) || loop.Steps([]loop.Sample{{LnY: 1}, {LnY: 2}, {LnY: math.NaN()}}, 0.01) {
		t.Error("two levels tell a step")
	}
}
