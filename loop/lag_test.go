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
