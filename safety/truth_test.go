package safety_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"trueup/safety"
	"trueup/safety/check"
)

// fastest fades a lamp up and down and gives the greatest change of its true light in
// any window, as a fraction of full a second. This is measured here, frame by frame,
// and shares nothing with governor or checker.
func fastest(t *testing.T, bytes int, declared safety.Curve, truth func(share float64) float64, windows ...time.Duration) (worst []float64) {
	t.Helper()
	b := newBench(t, one(safety.Head{Name: "lamp", Universe: 1, Cap: 1, Slots: []safety.SlotRule{(&layout{}).dimmer(bytes, declared)}}))
	b.c = check.NewTrue(b.cfg, func(_ *safety.Head, _ int, share float64) float64 { return truth(share) })
	var light []float64
	see := func() {
		code := uint64(0)
		for _, v := range b.frame[1][:bytes] {
			code = code<<8 | uint64(v)
		}
		light = append(light, truth(float64(code)/float64(maxOf(bytes))))
	}
	for _, level := range []uint32{maxOf(bytes), 0, maxOf(bytes) / 3, maxOf(bytes), maxOf(bytes) / 2} {
		b.wish(0, level)
		for b.step(tick); !b.arrived(0)(); b.step(tick) {
			see()
		}
		for range 44 * 2 {
			b.g.Alive()
			b.step(tick)
			see()
		}
	}
	b.clean()
	for _, w := range windows {
		n, most := int(w/tick), 0.0
		for i := n; i < len(light); i++ {
			most = max(most, math.Abs(light[i]-light[i-n])/w.Seconds())
		}
		worst = append(worst, most)
	}
	return worst
}

// A fade takes what Pace says of its ends, to a frame or two: neither less, nor much more.
func TestAFadeTakesAsLongAsItsPace(t *testing.T) {
	for name, c := range map[string]safety.Curve{"declared": linear, "of unknown curve": nil} {
		b := newBench(t, one(safety.Head{Name: "lamp", Universe: 1, Cap: 1, Slots: []safety.SlotRule{(&layout{}).dimmer(2, c)}}))
		rate, was := 0.5, 0.0 // of full a second, as one() has it
		for _, share := range []float64{0.4, 0.9, 0.25, 0, 1, 0.7} {
			b.wish(0, uint32(share*65535))
			took := b.until(10*time.Second, b.arrived(0)).Seconds()
			least := math.Abs(safety.Pace(share, c != nil)-safety.Pace(was, c != nil)) / rate
			if took < least-tick.Seconds() || took > least+2*tick.Seconds() {
				t.Errorf("%s, from %g to %g: took %.3f s, by its pace %.3f", name, was, share, took, least)
			}
			was = share
			b.run(3 * time.Second)
		}
		b.clean()
	}
}

// A lamp whose dimming exponent is up to a tenth off what its profile says stays
// within the promised half of full a second; a coarse one is ahead by one step at most.
func TestALampWhoseExponentIsATenthOffKeepsTheLimit(t *testing.T) {
	for _, bytes := range []int{1, 2} {
		for _, p := range []float64{1, 2, 2.6} {
			curve := mustCurve(func(x float64) float64 { return math.Pow(x, p) })
			for _, off := range []float64{0.9, 0.95, 1, 1.05, 1.1} {
				truth := func(x float64) float64 { return math.Pow(between(curve, x), off) }
				worst := fastest(t, bytes, curve, truth, time.Second, 4*tick)
				step := 1 - truth(1-1/float64(maxOf(bytes))) // the topmost, the largest one where p >= 1
				step = max(step, truth(1/float64(maxOf(bytes))))
				t.Logf("%2d bit, declared %.1f, true %.2f: %.2f %% in a second, %.1f %%/s in 91 ms", 8*bytes, p, p*off, 100*worst[0], 100*worst[1])
				if worst[0] > 0.5+step+1e-4 {
					t.Errorf("%d bit, exponent %.1f declared, %.2f in truth: %.2f %% of full in a second, and a step is %.2f %%", 8*bytes, p, p*off, 100*worst[0], 100*step)
				}
				if w := 0.5 + (step+1e-4)/(4*tick).Seconds(); worst[1] > w {
					t.Errorf("%d bit, exponent %.1f declared, %.2f in truth: %.1f %% a second over 91 ms, want at most %.1f", 8*bytes, p, p*off, 100*worst[1], 100*w)
				}
			}
		}
	}
}

// Where a profile names no curve, lamps of any usual kind keep the limit.
func TestALampOfUnknownCurveKeepsTheLimitWhateverItIs(t *testing.T) {
	for name, truth := range map[string]func(x float64) float64{
		"linear": func(x float64) float64 { return x }, "square": func(x float64) float64 { return x * x }, "cube": func(x float64) float64 { return x * x * x },
		"s":         func(x float64) float64 { return x * x * (3 - 2*x) },
		"dark part": func(x float64) float64 { return max(0, x-0.3) / 0.7 }, "full early": func(x float64) float64 { return min(1, x/0.6) },
	} {
		if worst := fastest(t, 2, nil, truth, time.Second); worst[0] > 0.5001 {
			t.Errorf("%s: %.2f %% of full in a second, the limit is 50 %%", name, 100*worst[0])
		}
	}
}

// The second opinion judges the light that a test says is true: a lamp further off
// than the limits promise to cover is seen, whatever its curve says.
func TestTheCheckerJudgesTrueLight(t *testing.T) {
	for _, c := range []struct {
		exponent float64
		seen     bool
	}{{1.75, true}, {1.8, false}, {2, false}, {2.2, false}, {2.6, true}} {
		b := newBench(t, one(safety.Head{Name: "lamp", Universe: 1, Cap: 1, Slots: []safety.SlotRule{(&layout{}).dimmer(2, square)}}))
		b.c = check.NewTrue(b.cfg, func(_ *safety.Head, _ int, share float64) float64 {
			return math.Pow(between(square, share), c.exponent/2)
		})
		b.wish(0, 65535)
		b.until(5*time.Second, b.arrived(0))
		seen := slices.ContainsFunc(b.c.Violations(), func(v check.Violation) bool { return v.Rule == "rise" })
		if seen != c.seen {
			t.Errorf("declared a square, in truth an exponent of %.2f: rise too fast seen %v, want %v (%v)", c.exponent, seen, c.seen, b.c.Violations())
		}
	}
}

// between gives a curve as it was tabled, in straight parts: what is off by an
// exponent is off from there.
func between(c safety.Curve, share float64) float64 {
	n := float64(len(c) - 1)
	i := min(int(share*n), len(c)-2)
	return c[i] + (share*n-float64(i))*(c[i+1]-c[i])
}

// One code of a coarse lamp can be a tenth of its light. Lamps that go to and fro by
// that one code flash, and are held to three flashes a second.
func TestOneCodeThatIsATenthOfTheLightIsHalfAFlash(t *testing.T) {
	jump := make(safety.Curve, 256) // a switch at code 128, and little else
	for i := range jump {
		jump[i] = 0.4 * float64(i) / 255
		if i >= 128 {
			jump[i] = 1 - 0.4*float64(255-i)/255
		}
	}
	for name, curve := range map[string]safety.Curve{"as declared": jump, "by its exponent only": bumped(0.095), "small": bumped(0.05)} {
		y := &layout{}
		cfg := one()
		cfg.Start = safety.Look{1: new([512]byte)}
		for i := range 14 {
			cfg.Heads = append(cfg.Heads, safety.Head{Name: fmt.Sprint("lamp ", i), Universe: 1, Cap: 1, Slots: []safety.SlotRule{y.dimmer(1, curve)}})
			cfg.Start[1][i] = 254
		}
		b := newBench(t, cfg)
		at := uint32(254)
		if name == "as declared" {
			at = 127
			for i := range 14 {
				cfg.Start[1][i] = 127
			}
			b = newBench(t, cfg)
		}
		for n := range 44 * 15 { // each lamp every 1.3 s, some lamp every 91 ms
			if n%4 == 0 {
				b.g.Wish(n/4%14, []uint32{at + uint32(n/4/14+n/4)%2})
			}
			b.step(tick)
		}
		if held := b.g.HeldBack() > 0; held == (name == "small") {
			t.Errorf("%s: %d frames held back", name, b.g.HeldBack())
		}
		b.clean()
	}
}

// bumped is a straight line whose last code gives so much of all light.
func bumped(step float64) safety.Curve {
	c := make(safety.Curve, 256)
	for i := range c {
		c[i] = (1 - step) * float64(i) / 254
	}
	c[255] = 1
	return c
}
