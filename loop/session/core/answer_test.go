package core

import (
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// What glimpses of steps saw of the old light and the new one tell when the lamp answered, however it lies to it; lamps of the type are
// waited for as long from then on.
func TestAStepShowsWhenALampAnswers(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 9))
	const sigma, far = 0.0003, 0.01
	inside, all := 0, 0
	for n := range 200 {
		b := newBench(t, 2, nil)
		u, sister := b.c.units[1], b.c.units[2]
		sister.Type, sister.Feed, sister.SettleKnown, u.SettleKnown = u.Type, u.Feed, true, true
		u.settle, sister.settle = 250*time.Millisecond, 250*time.Millisecond
		truth := time.Duration(n) * time.Millisecond
		for range enoughGlimpses {
			u.fading = fading{arrived: 10 * time.Second, step: colorcalc.UV{V: far}, up: ramp{long: frame}}
			u.tally.last = &Stand{UV: colorcalc.UV{U: 0.2, V: 0.5 - far}}
			from := 10*time.Second - time.Duration(rng.IntN(100))*time.Millisecond
			left := u.fading.up.leftAt(10*time.Second+truth, from, from+200*time.Millisecond)
			scatter := func() float64 { return sigma * rng.NormFloat64() }
			u.fading.glimpse = &glimpse{uv: colorcalc.UV{U: 0.2 + scatter(), V: 0.5 - left*far + scatter()}, y: 1, from: from, to: from + 200*time.Millisecond}
			b.c.learnAnswer(u, &solve.Reading{UV: colorcalc.UV{U: 0.2 + scatter(), V: 0.5 + scatter()}, Y: 1, HasY: true})
		}
		a := b.c.answerOf(u)
		if a.latest == 0 {
			continue
		}
		if all++; truth >= a.least && truth <= a.latest {
			inside++
		}
		if u.settle != a.latest || sister.settle != a.latest {
			t.Fatalf("waited for %v and %v, where light follows within %v", u.settle, sister.settle, a.latest)
		}
	}
	if all < 135 || inside < all*9/10 {
		t.Errorf("of 200 lamps %d were found out, %d of them truly", all, inside)
	}
}

// A glimpse that lies beside the way from the old light to the new one, or sees the old light alone, teaches nothing.
func TestAGlimpseOfOtherLightTeachesNothing(t *testing.T) {
	for what, seen := range map[string]colorcalc.UV{
		"beside":  {U: 0.21, V: 0.495},
		"before":  {U: 0.2, V: 0.49},
		"further": {U: 0.2, V: 0.51},
	} {
		b := newBench(t, 1, nil)
		u := b.c.units[1]
		u.fading = fading{arrived: 10 * time.Second, step: colorcalc.UV{V: 0.01}, up: ramp{long: frame}}
		u.tally.last = &Stand{UV: colorcalc.UV{U: 0.2, V: 0.49}}
		u.fading.glimpse = &glimpse{uv: seen, y: 1, from: 9900 * time.Millisecond, to: 10100 * time.Millisecond}
		was := u.settle
		b.c.learnAnswer(u, &solve.Reading{UV: colorcalc.UV{U: 0.2, V: 0.5}, Y: 1, HasY: true})
		if a := b.c.answerOf(u); len(a.at) > 0 || u.settle != was {
			t.Errorf("%s: %+v", what, a)
		}
	}
}

// In a fade from the dark the level that is wanting shows when light follows, and a lamp that twice answers sooner than stated is waited for no longer: the first
// time it may have been a hand over the meter.
func TestAFadeFromTheDarkShowsWhenALampAnswers(t *testing.T) {
	for _, truth := range []time.Duration{20 * time.Millisecond, 60 * time.Millisecond, 110 * time.Millisecond} {
		b := newBench(t, 1, nil)
		u := b.c.units[1]
		u.SettleKnown, u.settle, u.at.At = true, 250*time.Millisecond, 10*time.Second
		b.c.meters.first.learn([]colorcalc.UV{{U: .2, V: .5}, {U: .2003, V: .5}, {U: .2, V: .5003}}, []float64{0, 0.002, -0.002})
		up := ramp{long: time.Second}
		fades := func() *answer {
			u.fading = fading{arrived: 10 * time.Second, alone: true, up: up}
			from := 9900 * time.Millisecond
			uv, to := colorcalc.UV{U: 0.2, V: 0.5}, from+200*time.Millisecond
			u.fading.glimpse = &glimpse{uv: uv, y: 100 * (1 - up.leftAt(10*time.Second+truth, from, to)), from: from, to: to}
			b.c.learnAnswer(u, &solve.Reading{UV: uv, Y: 100, HasY: true})
			return b.c.answerOf(u)
		}
		if a := fades(); a.latest != 0 || u.settle != 250*time.Millisecond {
			t.Errorf("%v: one reading decided: %+v, waited for %v", truth, a, u.settle)
		}
		if a := fades(); truth < a.least || truth > a.latest || u.settle != a.latest || a.latest > truth+80*time.Millisecond {
			t.Errorf("%v: %+v, waited for %v", truth, a, u.settle)
		}
	}
}
