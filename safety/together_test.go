package safety_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trueup/safety"
)

// Fades of any number of heads in one direction are one change of the light, in step
// or not, at any speed and from any level, also when one of them starts late: the guard
// holds none of them back, and the second opinion counts one swing, or none where no
// head goes through a tenth of its light.
func TestFadesInOneDirectionAreOneChangeOfTheLight(t *testing.T) {
	curves := []safety.Curve{linear, square, scurve, late, nil}
	rapid.Check(t, func(rt *rapid.T) {
		up := rapid.Bool().Draw(rt, "up")
		cfg := one()
		cfg.Limits.Rise = rapid.Float64Range(0.05, 4).Draw(rt, "rise")
		cfg.Limits.Fall = rapid.Float64Range(0.05, 4).Draw(rt, "fall")
		cfg.Start = safety.Look{1: new([512]byte)}
		y := &layout{}
		var to []uint32
		var wait []time.Duration
		for i := range rapid.IntRange(2, 25).Draw(rt, "heads") {
			bytes := rapid.IntRange(1, 2).Draw(rt, "bytes")
			h := safety.Head{Name: fmt.Sprint("head ", i), Universe: 1, Cap: 1, Slots: []safety.SlotRule{y.dimmer(bytes, rapid.SampledFrom(curves).Draw(rt, "curve"))}}
			from, target := rapid.Uint32Range(0, maxOf(bytes)).Draw(rt, "from"), rapid.Uint32Range(0, maxOf(bytes)).Draw(rt, "to")
			if (from > target) == up {
				from, target = target, from
			}
			code := from
			for k := bytes - 1; k >= 0; k-- {
				cfg.Start[1][h.Slots[0].Slots[k]-1] = byte(code)
				code >>= 8
			}
			cfg.Heads, to = append(cfg.Heads, h), append(to, target)
			wait = append(wait, time.Duration(rapid.IntRange(0, 4000).Draw(rt, "late by ms"))*time.Millisecond)
		}
		b := newBench(fatal{t: rt}, cfg)
		b.step(tick)
		for n, from := 0, b.now; n < len(to); {
			for i, w := range wait {
				if w >= 0 && b.now.Sub(from) >= w {
					b.wish(i, to[i])
					wait[i] = -1
					n++
				}
			}
			b.g.Alive()
			b.step(tick)
		}
		for i := range to {
			b.until(3*time.Minute, b.arrived(i))
			if got := b.g.Sent(i)[0]; got != to[i] {
				rt.Errorf("head %d ends at %d, wished %d", i, got, to[i])
			}
		}
		if n := b.g.HeldBack(); n > 0 {
			rt.Errorf("%d frames held back", n)
		}
		if n := b.c.Opposing(); n > 1 {
			rt.Errorf("%d opposing swings counted, all heads went one way", n)
		}
		b.clean()
	})
}

// The same with colour: heads that mix, brought up at one mixture, are one change
// however many they are; one head against all others divides them into those before
// and those after it, and holds nobody back.
func TestOneHeadAgainstTheOthersIsTwoChangesMore(t *testing.T) {
	for _, against := range []bool{false, true} {
		y := &layout{}
		cfg := one()
		cfg.Start = safety.Look{1: new([512]byte)}
		for i := range 20 {
			h := rgbw(y, fmt.Sprint("wash ", i))
			for _, r := range h.Slots[1:5] { // all emitters stand at half
				cfg.Start[1][r.Slots[0]-1] = 128
			}
			if i == 19 && against {
				cfg.Start[1][h.Slots[0].Slots[0]-1] = 255
			}
			cfg.Heads = append(cfg.Heads, h)
		}
		b := newBench(t, cfg)
		b.step(tick)
		for i := range 20 {
			level := uint32(60000)
			if i == 19 && against {
				level = 0
			}
			b.wish(i, level, 128<<8, 128<<8, 128<<8, 128<<8)
			b.run(30 * time.Millisecond)
		}
		for i := range 20 {
			b.until(10*time.Second, b.arrived(i))
		}
		want := 1
		if against {
			want = 3
		}
		if n := b.c.Opposing(); n != want {
			t.Errorf("one against the others %v: %d opposing swings, want %d", against, n, want)
		}
		if b.g.HeldBack() != 0 {
			t.Errorf("%d frames held back", b.g.HeldBack())
		}
		b.clean()
	}
}

// A crossfade, some heads up while others go down in step, is two changes of the
// light whatever the lamps are, and nobody waits for anybody.
func TestACrossfadeIsTwoChangesAndIsNotHeldBack(t *testing.T) {
	for _, curve := range []safety.Curve{linear, square, nil} {
		y := &layout{}
		cfg := one()
		cfg.Start = safety.Look{1: new([512]byte)}
		for i := range 16 {
			cfg.Heads = append(cfg.Heads, safety.Head{Name: fmt.Sprint("lamp ", i), Universe: 1, Cap: 1, Slots: []safety.SlotRule{y.dimmer(1, curve)}})
			cfg.Start[1][i] = byte(200 * (i % 2))
		}
		b := newBench(t, cfg)
		b.step(tick)
		for i := range 16 {
			b.wish(i, uint32(200*(1-i%2)))
		}
		for i := range 16 {
			b.until(10*time.Second, b.arrived(i))
		}
		if n := b.c.Opposing(); n != 2 || b.g.HeldBack() != 0 {
			t.Errorf("%d opposing swings, want 2; %d frames held back, want none", n, b.g.HeldBack())
		}
		b.clean()
	}
}
