package quality

import (
	"math"

	"trueup/colorcalc"
)

// The standard camera and display of EBU Tech 3355: linear matrix, saturation
// of 90 %, and the primaries of BT.709 to XYZ.
var (
	tlciMatrix     = [9]float64{1.182, -.209, .027, .107, .890, .003, .040, -.134, 1.094}
	tlciSaturation = [9]float64{14.0 / 15, 1.0 / 30, 1.0 / 30, 1.0 / 30, 14.0 / 15, 1.0 / 30, 1.0 / 30, 1.0 / 30, 14.0 / 15}
	tlciDisplay    = [9]float64{.412391, .357584, .180481, .212639, .715169, .072192, .019331, .119195, .950532}
	tlciWhite      = colorcalc.XY{X: .3127, Y: .3290}.XYZ(1)
)

const (
	greyCard  = 0.9         // reflectance of the balance card
	headroom  = 239.0 / 219 // the signal's upper end
	oetfKnee  = 0.018       // ITU-R BT.709
	displayEx = 2.4         // ITU-R BT.1886
)

// cameraBalance gives the factors that make the grey card white.
func cameraBalance(l *light, d *tlciTables) (k [3]float64) {
	for c := range k {
		k[c] = 1 / (greyCard * dot(l, &d.camera[c]))
	}
	return k
}

func cameraSignals(l *light, sample *[3]light, balance [3]float64) (out [3]float64) {
	for c := range out {
		out[c] = dot(l, &sample[c]) * balance[c]
	}
	return out
}

// cameraToLab carries balanced camera signals to the screen and into Lab. ok
// is false where a signal is negative after either matrix.
func cameraToLab(v [3]float64) (lab colorcalc.Lab, ok bool) {
	r, g, b := apply3(&tlciMatrix, v[0], v[1], v[2])
	ok = r >= 0 && g >= 0 && b >= 0
	r, g, b = apply3(&tlciSaturation, r, g, b)
	ok = ok && r >= 0 && g >= 0 && b >= 0
	x, y, z := apply3(&tlciDisplay, shown(r), shown(g), shown(b))
	lab, fine := colorcalc.XYZ{X: x, Y: y, Z: z}.Lab(tlciWhite)
	return lab, ok && fine
}

// shown is the light on the screen for a linear camera signal.
func shown(l float64) float64 {
	e := 4.5 * l
	if l >= oetfKnee {
		e = 1.099*math.Pow(l, 0.45) - 0.099
	}
	return math.Pow(min(max(e, 0), headroom), displayEx)
}
