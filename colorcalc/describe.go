package colorcalc

import (
	"fmt"
	"math"
)

// Step is one step of colour difference: the radius of a circle in u', v'
// (CIE TN 001:2014). An n-step circle has n times this radius.
const Step = 0.0011

// Steps counts the difference in circles of CIE TN 001:2014: about 1 is the
// smallest that people see side by side.
func (c UV) Steps(d UV) float64 { return c.Dist(d) / Step }

// Bounds of the tint words, in Duv. In u', v' one Duv counts at most 1.5 times
// itself, so they stand at about half a step, two and five steps.
const (
	duvNone     = 0.0004
	duvTouch    = 0.0015
	duvSlightly = 0.0037
	miredSame   = 1 // below about one step along the locus: not said
)

// TintWords says how far a light leans: "a touch green", "slightly magenta",
// "clearly green", or "" where nobody would see it (|d| < 0.0004).
func TintWords(d Duv) string {
	word := "green"
	if d < 0 {
		word = "magenta"
	}
	switch a := math.Abs(float64(d)); {
	case !(a >= duvNone):
		return ""
	case a < duvTouch:
		return "a touch " + word
	case a < duvSlightly:
		return "slightly " + word
	}
	return "clearly " + word
}

// Alike is what [Describe] says of two lights of which no difference is seen.
const Alike = "the same to the eye"

// Describe says in plain words how the light "to" differs from the light
// "from": "90 K cooler, a touch green (Duv +0.0012)". Kelvin and Duv are
// differences. Where one of the two has no colour temperature the distance in
// u', v' is given with its direction; an impossible chromaticity gives
// "no reading".
func Describe(from, to XY) string {
	if !from.Valid() || !to.Valid() {
		return "no reading"
	}
	t0, d0, err0 := CCT(from)
	t1, d1, err1 := CCT(to)
	if err0 != nil || err1 != nil {
		return describeColour(from.UV(), to.UV())
	}
	heat := ""
	if m := t1.Mired() - t0.Mired(); math.Abs(float64(m)) >= miredSame {
		word := "cooler"
		if m > 0 {
			word = "warmer"
		}
		heat = fmt.Sprintf("%.0f K %s", roundKelvin(math.Abs(float64(t1-t0))), word)
	}
	tint := TintWords(d1 - d0)
	if tint != "" {
		tint = fmt.Sprintf("%s (Duv %s)", tint, (d1 - d0).Text())
	}
	switch {
	case heat == "" && tint == "":
		return Alike
	case heat == "":
		return tint
	case tint == "":
		return heat
	}
	return heat + ", " + tint
}

// roundKelvin keeps what a person can use: 1 K below 20 K, 5 K below 50 K,
// 10 K below 1000 K, else 100 K.
func roundKelvin(k float64) float64 {
	step := 100.0
	switch {
	case k < 20:
		step = 1
	case k < 50:
		step = 5
	case k < 1000:
		step = 10
	}
	return math.Round(k/step) * step
}

// describeColour names the direction of a difference between colours by
// eighths of the u', v' diagram around "from".
func describeColour(from, to UV) string {
	r := from.Dist(to)
	if r < Step/2 {
		return Alike
	}
	return fmt.Sprintf("%.4f away in u'v', %s", r, Direction(from, to))
}

// Direction says which way the light "to" lies from the light "from" in the u', v'
// diagram, by eighths: "towards red".
func Direction(from, to UV) string {
	names := [...]string{"red", "amber", "yellow-green", "green", "cyan", "azure", "blue", "magenta"}
	a := math.Atan2(to.V-from.V, to.U-from.U) / (math.Pi / 4)
	return "towards " + names[(int(math.Round(a))+8)%8]
}
