package core

import (
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// However long people walk by in a lit room, only the shades that still count are kept.
func TestShadesThatCountNoMoreAreForgotten(t *testing.T) {
	var d dark
	for n := range 10000 {
		d.shades.pass(time.Duration(n) * 7 * time.Second)
	}
	var want []time.Duration
	for n := 9999; time.Duration(9999-n)*7*time.Second <= shadesIn; n-- {
		want = append([]time.Duration{time.Duration(n) * 7 * time.Second}, want...)
	}
	if !slices.Equal(d.shades, want) {
		t.Errorf("after a day %d shades are kept: %v, want %v", len(d.shades), d.shades, want)
	}
}

// The light of a room steps up, and somebody walks by in it: the level has gone up, down and up again, and no light blinks. A lamp that somebody switches has another
// hue, or takes half of the light with it, and one that blinks comes again and again.
func TestAShadeAfterAStepIsNoBlinking(t *testing.T) {
	room := colorcalc.UV{U: 0.21, V: 0.475}
	s := time.Second
	for what, x := range map[string]struct {
		lux    []float64 // from one jump to the next, the first of them before all
		hue    colorcalc.UV
		apart  time.Duration
		blinks bool
	}{
		"a step, and a shade":                 {[]float64{66, 100, 62, 100}, room, 4 * s, false},
		"a step, and three shades":            {[]float64{66, 100, 62, 100, 80, 100, 90, 100}, room, 4 * s, false},
		"a shade in two steps":                {[]float64{66, 100, 80, 62, 100}, room, 3 * s, false},
		"a step down, and a shade":            {[]float64{100, 66, 50, 66}, room, 4 * s, false},
		"one shade after another":             {[]float64{66, 100, 62, 100, 62, 100, 62, 100, 62, 100}, room, 4 * s, true},
		"a lamp that is switched":             {[]float64{66, 100, 66, 100}, colorcalc.UV{U: 0.25, V: 0.52}, 4 * s, true},
		"one that doubles the light":          {[]float64{50, 100, 50, 100}, room, 4 * s, true},
		"one that stays out longer than that": {[]float64{66, 100, 66, 100}, room, 8500 * time.Millisecond, true},
	} {
		light := func(lux float64) colorcalc.XYZ {
			base := room.XYZ(x.lux[0])
			return base.Add(x.hue.XYZ(1).Scale(lux - x.lux[0]))
		}
		var jumps []scene.Jump
		at := 100 * s
		for i, lux := range x.lux[1:] {
			jumps = append(jumps, scene.Jump{Since: at - s, At: at, By: light(lux).Sub(light(x.lux[i]))})
			at += x.apart
		}
		d := &dark{}
		if got := d.blinksBy(&Core{now: at}, light(x.lux[0]), jumps, 99*s); got != x.blinks {
			t.Errorf("%s: blinks %v, want %v", what, got, x.blinks)
		}
	}
}
