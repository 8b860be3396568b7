package colorcalc

import (
	"fmt"
	"math"
)

// XYZ holds CIE 1931 tristimulus values (CIE 15:2018). With Y in lux
// or cd/m2, X and Z are on the same scale; otherwise the scale is relative.
type XYZ struct{ X, Y, Z float64 }

// XY is a CIE 1931 chromaticity. The zero value means "no reading".
type XY struct{ X, Y float64 }

// UV is a CIE 1976 UCS chromaticity u', v' (CIE 15:2018). The zero
// value means "no reading".
type UV struct{ U, V float64 }

// UV60 is a CIE 1960 UCS chromaticity u, v. Only CCT, Duv and the colour
// rendering index are defined here; differences are measured in UV.
type UV60 struct{ U, V float64 }

// Kelvin is a (correlated) colour temperature.
type Kelvin float64

// Mired is a reciprocal colour temperature, 1e6/K.
type Mired float64

// Duv is the signed distance from the Planckian locus in the CIE 1960 diagram,
// + above (green), - below (magenta), as ANSI C78.377 counts it.
type Duv float64

// Text is a Duv with its sign and four digits; what rounds to nothing is +0.0000.
func (d Duv) Text() string { return fmt.Sprintf("%+.4f", math.Round(float64(d)*1e4)/1e4+0) }

// Text is a temperature in whole kelvin, of absurd ones the first digits.
func (t Kelvin) Text() string {
	if math.Abs(float64(t)) < 1e9 {
		return fmt.Sprintf("%.0f K", float64(t))
	}
	return fmt.Sprintf("%.3g K", float64(t))
}

// Mired converts to reciprocal megakelvin; exact to rounding. 0 K gives +Inf.
func (t Kelvin) Mired() Mired { return Mired(1e6 / float64(t)) }

// Kelvin converts back; exact to rounding. 0 mired gives +Inf.
func (m Mired) Kelvin() Kelvin { return Kelvin(1e6 / float64(m)) }

// Add returns the additive mixture of two lights (Grassmann's laws).
func (c XYZ) Add(d XYZ) XYZ { return XYZ{c.X + d.X, c.Y + d.Y, c.Z + d.Z} }

// Sub returns c with the light d taken off; components may become negative.
func (c XYZ) Sub(d XYZ) XYZ { return XYZ{c.X - d.X, c.Y - d.Y, c.Z - d.Z} }

// Scale returns the light c made k times as strong.
func (c XYZ) Scale(k float64) XYZ { return XYZ{k * c.X, k * c.Y, k * c.Z} }

// XY projects to chromaticity. The zero XY (no reading) is returned where the
// projection is undefined: X+Y+Z not positive, or not finite.
func (c XYZ) XY() XY {
	s := c.X + c.Y + c.Z
	if !(s > 0) || math.IsInf(s, 1) {
		return XY{}
	}
	return XY{c.X / s, c.Y / s}
}

// UV projects to CIE 1976 chromaticity; zero where undefined.
func (c XYZ) UV() UV {
	d := c.X + 15*c.Y + 3*c.Z
	if !(d > 0) || math.IsInf(d, 1) {
		return UV{}
	}
	return UV{4 * c.X / d, 9 * c.Y / d}
}

// Valid reports whether c is a chromaticity of a possible light: finite,
// x >= 0, y > 0, x+y <= 1.
func (c XY) Valid() bool {
	return c.X >= 0 && c.Y > 0 && c.X+c.Y <= 1+1e-12 // false for NaN
}

// XYZ gives the tristimulus values with luminance (or illuminance) y. The zero
// XYZ is returned for c.Y == 0, which has no way back, and for NaN.
func (c XY) XYZ(y float64) XYZ {
	if c.Y == 0 || math.IsNaN(c.X+c.Y+y) {
		return XYZ{}
	}
	return XYZ{c.X * y / c.Y, y, (1 - c.X - c.Y) * y / c.Y}
}

// UV converts to CIE 1976; exact to rounding. Points outside the diagram are
// converted too, for arithmetic; zero stays zero (no reading), and zero is
// returned where the projection does not exist (-2x+12y+3 not positive, NaN).
func (c XY) UV() UV {
	d := -2*c.X + 12*c.Y + 3
	if c == (XY{}) || !(d > 0) || math.IsInf(d, 1) {
		return UV{}
	}
	return UV{4 * c.X / d, 9 * c.Y / d}
}

// UV60 converts to CIE 1960, with the special cases of UV.
func (c XY) UV60() UV60 {
	d := -2*c.X + 12*c.Y + 3
	if c == (XY{}) || !(d > 0) || math.IsInf(d, 1) {
		return UV60{}
	}
	return UV60{4 * c.X / d, 6 * c.Y / d}
}

// XY converts back to CIE 1931; exact to rounding. Zero stays zero, and zero
// is returned where the projection does not exist (6u'-16v'+12 not positive).
func (c UV) XY() XY {
	d := 6*c.U - 16*c.V + 12
	if c == (UV{}) || !(d > 0) || math.IsInf(d, 1) {
		return XY{}
	}
	return XY{9 * c.U / d, 4 * c.V / d}
}

// XY converts back to CIE 1931, with the special cases of UV.XY.
func (c UV60) XY() XY { return c.UV().XY() }

// XYZ gives the tristimulus values with luminance y. Zero for c.V == 0, which
// has no way back, and for NaN.
func (c UV) XYZ(y float64) XYZ {
	if c.V == 0 || math.IsNaN(c.U+c.V+y) {
		return XYZ{}
	}
	return XYZ{9 * c.U * y / (4 * c.V), y, (12 - 3*c.U - 20*c.V) * y / (4 * c.V)}
}

// Dist is the colour difference of this program: the Euclidean distance in
// CIE 1976 u', v' (CIE 15:2018).
func (c UV) Dist(d UV) float64 { return math.Hypot(c.U-d.U, c.V-d.V) }

// UV60 converts to CIE 1960 (u = u', v = 2v'/3).
func (c UV) UV60() UV60 { return UV60{c.U, c.V * 2 / 3} }

// UV converts to CIE 1976 (u' = u, v' = 1.5v).
func (c UV60) UV() UV { return UV{c.U, 1.5 * c.V} }
