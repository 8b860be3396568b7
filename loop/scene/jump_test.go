package scene

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

// Three jumps that take each other back are a light that goes on and off, within minutes. A step, a
// step and its return, and a staircase are not.
func TestWhatBlinks(t *testing.T) {
	up, down := colorcalc.XYZ{X: 9, Y: 10, Z: 11}, colorcalc.XYZ{X: -9.2, Y: -10.1, Z: -10.8}
	at := func(gap time.Duration, by ...colorcalc.XYZ) (js []Jump) {
		for i, b := range by {
			js = append(js, Jump{At: time.Duration(i) * gap, By: b})
		}
		return js
	}
	for name, c := range map[string]struct {
		js   []Jump
		want bool
	}{
		"on, off, on":       {at(15*time.Second, up, down, up), true},
		"off, on, off":      {at(50*time.Second, down, up, down), true},
		"a step":            {at(time.Second, up), false},
		"on, off":           {at(15*time.Second, up, down), false},
		"a staircase":       {at(15*time.Second, up, up, up), false},
		"on, off, more off": {at(15*time.Second, up, down, down), false},
		"every two minutes": {at(2*time.Minute, up, down, up), true},
		"every half hour":   {at(30*time.Minute, up, down, up), false},
		"a step long ago":   {append([]Jump{{By: up}}, at(5*time.Second, up, down, up)[:2]...), false},
	} {
		if got := Blinks(c.js); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// A light that is switched stood no longer than from the last reading before one change to the first after the next: what was not looked at may have been
// a part of that, and changes that take nothing back tell nothing.
func TestHowLongASwitchedLightStood(t *testing.T) {
	up, down := colorcalc.XYZ{X: 9, Y: 10, Z: 11}, colorcalc.XYZ{X: -9, Y: -10, Z: -11}
	s := time.Second
	for name, c := range map[string]struct {
		js   []Jump
		want []time.Duration
	}{
		"watched all the time":       {[]Jump{{10 * s, 11 * s, up}, {17 * s, 18 * s, down}}, []time.Duration{8 * s}},
		"met between two passages":   {[]Jump{{10 * s, 40 * s, up}, {47 * s, 48 * s, down}}, []time.Duration{38 * s}},
		"two times":                  {[]Jump{{10 * s, 11 * s, up}, {30 * s, 31 * s, down}, {36 * s, 37 * s, up}}, []time.Duration{21 * s, 7 * s}},
		"a staircase":                {[]Jump{{10 * s, 11 * s, up}, {17 * s, 18 * s, up}}, nil},
		"back after half an hour":    {[]Jump{{10 * s, 11 * s, up}, {1800 * s, 1801 * s, down}}, nil},
		"two steps up, and one back": {[]Jump{{1 * s, 2 * s, up}, {10 * s, 11 * s, up}, {29 * s, 30 * s, down}}, []time.Duration{20 * s}},
	} {
		if got := Stood(c.js); !slices.Equal(got, c.want) {
			t.Errorf("%s: stood %v, want %v", name, got, c.want)
		}
	}
}

// Readings of a steady dark probe are hardly ever far off, readings after a jump always;
// after the leap the new ones are as expected.
func TestAJumpIsFarOffAndThenForgotten(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	n := Noise{UV: 0.0004, LnY: 0.005}
	light := colorcalc.UV{U: 0.22, V: 0.5}.XYZ(10)
	read := func(c colorcalc.XYZ) colorcalc.XYZ {
		uv := c.UV()
		return colorcalc.UV{U: uv.U + n.UV*r.NormFloat64(), V: uv.V + n.UV*r.NormFloat64()}.XYZ(c.Y * (1 + n.LnY*r.NormFloat64()))
	}
	far := 0
	b := NewBackground(light, 5, n, 0)
	for range 3000 {
		if b.Off(read(light), n, 10*time.Second) > 20 {
			far++
		}
		if b.Off(read(light.Scale(1.5)), n, 10*time.Second) <= 20 {
			t.Fatal("half as much again is not seen")
		}
	}
	if far > 3 {
		t.Errorf("%d of 3000 steady readings are far off", far)
	}
	b.Leap(light.Scale(1.5), 3, n, 10*time.Second)
	if off := b.Off(read(light.Scale(1.5)), n, 11*time.Second); off > 20 {
		t.Errorf("after the leap a reading is off by %.1f", off)
	}
}
