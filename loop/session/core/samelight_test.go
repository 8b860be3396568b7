package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// A change at a probe that is watched since a light blinks at another is that light where it fits it in size, colour and time. A door that opens once, long after
// that light would have changed, or one of another colour is none.
func TestOneChangeIsTheLightOfAnotherProbeWhereItFits(t *testing.T) {
	warm, cold := colorcalc.UV{U: 0.25, V: 0.52}, colorcalc.UV{U: 0.195, V: 0.46}
	s := time.Second
	turns := func(by ...colorcalc.XYZ) (js []scene.Jump) {
		for i, b := range by {
			js = append(js, scene.Jump{At: time.Duration(10*i) * s, By: b})
		}
		return js
	}
	white := turns(warm.XYZ(9), warm.XYZ(9).Scale(-1), warm.XYZ(9))
	pictures := turns(warm.XYZ(9), cold.XYZ(8).Scale(-1), colorcalc.XYZ{X: 1, Y: 2, Z: -3})
	began := 40 * s
	for what, x := range map[string]struct {
		light []scene.Jump
		after time.Duration
		by    colorcalc.XYZ
		want  bool
	}{
		"on":                       {white, 8 * s, warm.XYZ(9), true},
		"off":                      {white, 8 * s, warm.XYZ(9).Scale(-1), true},
		"farther from it":          {white, 8 * s, warm.XYZ(3), true},
		"a door after a long time": {white, 48 * s, warm.XYZ(16), false},
		"a window":                 {white, 8 * s, cold.XYZ(9), false},
		"the house light":          {white, 8 * s, warm.XYZ(100), false},
		"next to nothing":          {white, 8 * s, warm.XYZ(0.5), false},
		"pictures of any colour":   {pictures, 8 * s, cold.XYZ(5), true},
		"pictures, another level":  {pictures, 8 * s, colorcalc.XYZ{X: 3, Y: 5, Z: -1}, true},
	} {
		if got := sameLight(x.light, scene.Jump{At: began + x.after, By: x.by}, began, 0.0005); got != x.want {
			t.Errorf("%s: the same light %v, want %v", what, got, x.want)
		}
	}
}
