package colorcalc

import "math"

// Lux is an illuminance, lm/m2.
type Lux float64

// Shift returns the temperature behind a conversion filter of a mired shift
// (positive: warmer), the same for every light. NaN or negative results mean
// that no such light exists.
func (t Kelvin) Shift(by Mired) Kelvin { return (t.Mired() + by).Kelvin() }

// TargetTint is the Duv at the centre of the white light tolerances of ANSI
// C78.377: 0 below 2870 K, on the daylight side above. NaN outside 1000-25000 K.
func TargetTint(t Kelvin) Duv {
	switch k := float64(t); {
	case !(t >= MinCCT && t <= MaxCCT):
		return Duv(math.NaN())
	case t < 2870:
		return 0
	default:
		return Duv(57700/(k*k) - 44.6/k + 0.00854)
	}
}

// Ellipse is a set of tolerance ellipses around one of the standard
// fluorescent colours (IEC 60081, ANSI C78.376): n^2 = G11 dx^2 + 2 G12 dx dy +
// G22 dy^2, n counted in steps.
type Ellipse struct {
	Name          string
	CCT           Kelvin
	Centre        XY
	G11, G12, G22 float64
}

// Ellipses lists the six standard fluorescent colours, as secondary sources
// give them.
var Ellipses = []Ellipse{
	{"F6500", 6400, XY{.313, .337}, 86e4, -40e4, 45e4},
	{"F5000", 5000, XY{.346, .359}, 56e4, -25e4, 28e4},
	{"F4000", 4040, XY{.380, .380}, 39.5e4, -21.5e4, 26e4},
	{"F3500", 3450, XY{.409, .394}, 38e4, -20e4, 25e4},
	{"F3000", 2940, XY{.440, .403}, 39e4, -19.5e4, 27.5e4},
	{"F2700", 2720, XY{.463, .420}, 44e4, -18.6e4, 27e4},
}

// Steps counts how many steps of the ellipse lie between its centre and c.
func (e Ellipse) Steps(c XY) float64 {
	dx, dy := c.X-e.Centre.X, c.Y-e.Centre.Y
	return math.Sqrt(e.G11*dx*dx + 2*e.G12*dx*dy + e.G22*dy*dy)
}
