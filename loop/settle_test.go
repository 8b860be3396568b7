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

// fadedIn reads a light that follows a straight fade in from the dark, of a length, after a delay and with a time constant: readings of a window, one
// every period from a moment after the end of the fade on.
func fadedIn(rng *rand.Rand, fade, delay, tau, first float64, n int, sigmaUV, sigmaLnY float64) []Sample {
	const window, period = 0.15, 0.2
	light := func(t float64) float64 { // of a light that follows by tau a line from 0 to 1 that ends at 0
		t -= delay
		way := func(s float64) float64 { // since the begin of a line that does not end
			if s <= 0 {
				return 0
			}
			return (s - tau*(1-math.Exp(-s/tau))) / fade
		}
		return way(t+fade) - way(t)
	}
	var out []Sample
	for i := range n {
		from, sum := first+float64(i)*period, 0.0
		for k := range 15 {
			sum += light(from+(float64(k)+0.5)*window/15) / 15
		}
		out = append(out, Sample{After: time.Duration((from + window) * float64(time.Second)), Window: 150 * time.Millisecond,
			UV:  colorcalc.UV{U: 0.2 + sigmaUV*rng.NormFloat64(), V: 0.5 + sigmaUV*rng.NormFloat64()},
			LnY: math.Log(max(sum, 1e-6)) + sigmaLnY*rng.NormFloat64()})
	}
	return out
}

// Two readings tell no shorter a dead time than four do, and no light that comes late or slowly stands after two.
func TestTwoReadingsAfterAFadeTellAsMuchAsFour(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	soon, shorter := 0, 0
	for range 4000 {
		sigma := 0.002 + 0.005*rng.Float64()
		fade, tau, delay, first := 0.2+1.5*rng.Float64(), 0.001+0.4*rng.Float64()*rng.Float64(), 0.3*rng.Float64()*rng.Float64(), 0.2*rng.Float64()
		all := fadedIn(rng, fade, delay, tau, first, 40, 0.0004, sigma)
		two := NewDeadTime(0)
		if !two.LearnSoon(all[:2], 0.0004, sigma) {
			continue
		}
		soon++
		if tau > 0.2 && tau < fade || delay > first+0.15 {
			t.Errorf("a fade of %.2f s, %.3f s late, time constant %.3f s, read from %.3f s on: stands after two readings", fade, delay, tau, first)
		}
		four := NewDeadTime(0)
		for n := 4; n <= len(all) && !four.Learn(all[:n], 0.0004, sigma); n++ {
		}
		if two.Wait() < four.Wait() {
			shorter++
		}
	}
	if soon < 1000 {
		t.Errorf("%d of 4000 lights stood after two readings", soon)
	}
	if shorter > soon/50 {
		t.Errorf("%d of %d dead times by two readings are shorter than by four", shorter, soon)
	}
}

// A meter that tells levels badly, or not at all, and a reading that began before the output arrived tell nothing so soon.
func TestTwoReadingsThatTellNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	good := fadedIn(rng, 0.8, 0, 0.001, 0.05, 2, 0.0004, 0.002)
	if !NewDeadTime(0).LearnSoon(good, 0.0004, 0.002) {
		t.Error("a light that follows at once does not stand")
	}
	bare := []Sample{good[0], good[1]}
	bare[1].LnY = math.NaN()
	early := fadedIn(rng, 0.8, 0, 0.001, -0.05, 2, 0.0004, 0.002)
	for what, d := range map[string]bool{
		"no level": NewDeadTime(0).LearnSoon(bare, 0.0004, 0.002), "noise": NewDeadTime(0).LearnSoon(good, 0.0004, 0.01),
		"one reading": NewDeadTime(0).LearnSoon(good[:1], 0.0004, 0.002), "a reading under way": NewDeadTime(0).LearnSoon(early, 0.0004, 0.002),
	} {
		if d {
			t.Errorf("%s: a dead time was learnt", what)
		}
	}
}

// A light that comes late and then by a time constant is waited for until next to nothing of a step is left: what it does until it comes hides its time constant, and
// four of these alone do not count how late it was.
func TestALightThatComesLateAndSlowlyIsWaitedFor(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for _, late := range []float64{0.3, 0.76} {
		for _, tau := range []float64{0.2, 0.5, 1} {
			short, long := 0, 0
			for range 200 {
				fade, sigma := 0.8+2*rng.Float64(), 0.003+0.004*rng.Float64()
				all := fadedIn(rng, fade, late, tau, 0.2*rng.Float64(), 60, 0.0004, sigma)
				d := NewDeadTime(0)
				d.Fade = time.Duration(fade * float64(time.Second))
				for n := 4; n <= len(all) && !d.Learn(all[:n], 0.0004, sigma); n++ {
				}
				if d.Wait().Seconds() < late+2.5*tau { // 8 % of a step
					short++
				}
				if d.Wait().Seconds() > late+7*tau+0.4 {
					long++
				}
			}
			if short > 10 || long > 10 {
				t.Errorf("%.2f s late, time constant %.1f s: of 200 %d are waited for too briefly, %d too long", late, tau, short, long)
			}
		}
	}
}
