package core

import (
	"testing"

	"trueup/colorcalc"
)

// What is said of a background that changed says what has changed.
func TestChangeOfBackgroundIsSaid(t *testing.T) {
	was := colorcalc.UV{U: 0.20, V: 0.47}.XYZ(1.68)
	for want, now := range map[string]colorcalc.XYZ{
		"from 1.68 to 2.00 lux":                colorcalc.UV{U: 0.20, V: 0.47}.XYZ(2),
		"for a while, and is back at 1.68 lux": colorcalc.UV{U: 0.20, V: 0.47}.XYZ(1.679),
		"by 0.0200 in its colour, at 1.68 lux": colorcalc.UV{U: 0.22, V: 0.47}.XYZ(1.681),
	} {
		if got := fromTo(was, now); got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}
