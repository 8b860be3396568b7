package law

import (
	"math"

	"trueup/colorcalc"
)

// Part is how far a primary (k: 0 red, 1 green, 2 blue) is on at a hue in turns
// and a saturation 0..1, 0..1 of what makes white: the hexcone (A. R. Smith,
// Color gamut transform pairs, SIGGRAPH 1978).
func Part(k int, turns, saturation float64) float64 {
	return 1 - saturation*(1-hueShare(turns-float64(k)/3))
}

// hueShare is the part of a primary at a hue t turns away from it: full within
// 1/6, none beyond 1/3.
func hueShare(t float64) float64 {
	t -= math.Round(t)
	return math.Max(0, math.Min(1, 2-6*math.Abs(t)))
}

// OfParts is the inverse of Part: the hue in turns, 0..1, and the saturation of
// three parts, whose common scale does not count. White has hue 0.
func OfParts(p [3]float64) (turns, saturation float64) {
	hi, lo := max(p[0], p[1], p[2]), min(p[0], p[1], p[2])
	span := hi - lo
	if !(span > 0) || !(hi > 0) {
		return 0, 0
	}
	switch hi {
	case p[0]:
		turns = math.Mod((p[1]-p[2])/span+6, 6)
	case p[1]:
		turns = (p[2]-p[0])/span + 2
	default:
		turns = (p[0]-p[1])/span + 4
	}
	return turns / 6, span / hi
}

// Space is an RGB space that hue and saturation stand in, CIE 1931.
type Space struct {
	Name                    string
	Red, Green, Blue, White colorcalc.XY
}

// SpaceOf finds an RGB space by the word of the profile; ok is false for none.
func SpaceOf(word string) (s Space, ok bool) {
	d65 := colorcalc.XY{X: 0.3127, Y: 0.3290}
	xy := func(x, y float64) colorcalc.XY { return colorcalc.XY{X: x, Y: y} }
	switch word {
	case "bt709": // ITU-R BT.709-6 item 1.3
		return Space{word, xy(0.64, 0.33), xy(0.30, 0.60), xy(0.15, 0.06), d65}, true
	case "p3": // SMPTE EG 432-1, with D65
		return Space{word, xy(0.68, 0.32), xy(0.265, 0.69), xy(0.15, 0.06), d65}, true
	case "bt2020": // ITU-R BT.2020-2 table 3
		return Space{word, xy(0.708, 0.292), xy(0.170, 0.797), xy(0.131, 0.046), d65}, true
	case "e1.54": // ANSI E1.54
		return Space{word, xy(0.7347, 0.2653), xy(0.1596, 0.8404), xy(0.0366, 0.0001), xy(0.4254, 0.4044)}, true
	}
	return Space{}, false
}
