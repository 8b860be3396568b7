package colorcalc

import (
	"math"
	"strings"
	"sync"
)

// RGB holds linear-light components of a named RGB space; 0..1 inside its
// gamut, white at 1, 1, 1.
type RGB struct{ R, G, B float64 }

// RGBSpace is a set of primaries with a white and a display transfer. Hue and
// saturation mean nothing without one.
type RGBSpace struct {
	Name    string
	Red     XY
	Green   XY
	Blue    XY
	White   XY
	SRGBEnc bool // encoded values follow IEC 61966-2-1; else the 2.4 power of ITU-R BT.1886

	matrices func() *[2][9]float64 // to XYZ and back
}

// The RGB spaces that people may name, all with white (0.3127, 0.3290).
var (
	SRGB   = newRGBSpace("sRGB", XY{.64, .33}, XY{.30, .60}, XY{.15, .06}, true)           // IEC 61966-2-1
	BT709  = newRGBSpace("BT.709", XY{.64, .33}, XY{.30, .60}, XY{.15, .06}, false)        // ITU-R BT.709, BT.1886
	P3D65  = newRGBSpace("P3-D65", XY{.680, .320}, XY{.265, .690}, XY{.150, .060}, true)   // SMPTE EG 432-1 primaries
	BT2020 = newRGBSpace("BT.2020", XY{.708, .292}, XY{.170, .797}, XY{.131, .046}, false) // ITU-R BT.2020, BT.1886
)

// RGBSpaces lists the spaces that RGBSpaceByName knows.
var RGBSpaces = []*RGBSpace{SRGB, BT709, P3D65, BT2020}

// RGBSpaceByName finds a space by name; letter case, dots, dashes and a
// leading "rec" or "bt" are forgiven. nil if there is none.
func RGBSpaceByName(name string) *RGBSpace {
	key := strings.NewReplacer(".", "", "-", "", " ", "", "rec", "", "bt", "").Replace(strings.ToLower(name))
	for k, s := range map[string]*RGBSpace{"srgb": SRGB, "709": BT709, "p3": P3D65, "p3d65": P3D65, "2020": BT2020} {
		if k == key {
			return s
		}
	}
	return nil
}

func newRGBSpace(name string, r, g, b XY, srgb bool) *RGBSpace {
	s := &RGBSpace{Name: name, Red: r, Green: g, Blue: b, White: XY{.3127, .3290}, SRGBEnc: srgb}
	s.matrices = sync.OnceValue(s.compute)
	return s
}

// compute scales the primaries so that they add up to the white with Y = 1
// (SMPTE RP 177).
func (s *RGBSpace) compute() *[2][9]float64 {
	p := [3]XYZ{s.Red.XYZ(1), s.Green.XYZ(1), s.Blue.XYZ(1)}
	m := [9]float64{p[0].X, p[1].X, p[2].X, p[0].Y, p[1].Y, p[2].Y, p[0].Z, p[1].Z, p[2].Z}
	w := s.White.XYZ(1)
	k := mul3(invert3(m), w.X, w.Y, w.Z)
	for i := range m {
		m[i] *= k[i%3]
	}
	return &[2][9]float64{m, invert3(m)}
}

func mul3(m [9]float64, x, y, z float64) [3]float64 {
	return [3]float64{m[0]*x + m[1]*y + m[2]*z, m[3]*x + m[4]*y + m[5]*z, m[6]*x + m[7]*y + m[8]*z}
}

func invert3(m [9]float64) [9]float64 {
	a, b, c, d, e, f, g, h, i := m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]
	k := 1 / (a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g))
	return [9]float64{(e*i - f*h) * k, (c*h - b*i) * k, (b*f - c*e) * k,
		(f*g - d*i) * k, (a*i - c*g) * k, (c*d - a*f) * k, (d*h - e*g) * k, (b*g - a*h) * k, (a*e - b*d) * k}
}

// XYZ converts linear light, white at Y = 1; exact to rounding.
func (s *RGBSpace) XYZ(c RGB) XYZ {
	v := mul3(s.matrices()[0], c.R, c.G, c.B)
	return XYZ{v[0], v[1], v[2]}
}

// RGB converts back; components outside 0..1 mean that the colour lies outside
// the gamut of the space.
func (s *RGBSpace) RGB(c XYZ) RGB {
	v := mul3(s.matrices()[1], c.X, c.Y, c.Z)
	return RGB{v[0], v[1], v[2]}
}

// Decode turns an encoded component (0..1, as in a hex colour) into linear
// light; odd-symmetric for negative values.
func (s *RGBSpace) Decode(v float64) float64 {
	a := math.Abs(v)
	switch {
	case !s.SRGBEnc:
		a = math.Pow(a, 2.4)
	case a <= 0.04045:
		a /= 12.92
	default:
		a = math.Pow((a+0.055)/1.055, 2.4)
	}
	return math.Copysign(a, v)
}

// Encode is the inverse of Decode.
func (s *RGBSpace) Encode(v float64) float64 {
	a := math.Abs(v)
	switch {
	case !s.SRGBEnc:
		a = math.Pow(a, 1/2.4)
	case a <= 0.0031308:
		a *= 12.92
	default:
		a = 1.055*math.Pow(a, 1/2.4) - 0.055
	}
	return math.Copysign(a, v)
}

// HSV is the hexcone model on linear light: V the largest component, S the
// spread relative to it, H in degrees (0 where undefined).
func (c RGB) HSV() (h, s, v float64) {
	v = max(c.R, c.G, c.B)
	d := v - min(c.R, c.G, c.B)
	if v > 0 {
		s = d / v
	}
	if !(d > 0) {
		return 0, s, v
	}
	switch v {
	case c.R:
		h = math.Mod((c.G-c.B)/d+6, 6)
	case c.G:
		h = (c.B-c.R)/d + 2
	default:
		h = (c.R-c.G)/d + 4
	}
	return 60 * h, s, v
}

// FromHSV is the inverse of HSV: h in degrees (any turn), s and v 0..1.
func FromHSV(h, s, v float64) RGB {
	f := func(n float64) float64 {
		k := math.Mod(n+math.Mod(h, 360)/60+6, 6)
		return v - v*s*max(0, min(k, 4-k, 1))
	}
	return RGB{f(5), f(3), f(1)}
}

// HSI is the circular model on linear light: I the mean, S = 1 - min/I, H the
// angle in degrees (0 where undefined).
func (c RGB) HSI() (h, s, i float64) {
	i = (c.R + c.G + c.B) / 3
	if !(i > 0) {
		return 0, 0, i
	}
	s = 1 - min(c.R, c.G, c.B)/i
	if s < 1e-12 { // a grey, to rounding
		return 0, 0, i
	}
	h = math.Atan2(math.Sqrt(3)/2*(c.G-c.B), c.R-(c.G+c.B)/2) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h, s, i
}

// FromHSI is the inverse of HSI: h in degrees (any turn), s 0..1, i not
// negative.
func FromHSI(h, s, i float64) RGB {
	// The components lie at 0, 120 and 240 degrees; within the third opposite
	// the smallest one, the angle fixes the ratio of the other two.
	h = math.Mod(math.Mod(h, 360)+360, 360)
	third := int(h / 120)
	a := (h - 120*float64(third)) * math.Pi / 180
	low := i * (1 - s)
	// With q = p - low for the leading and r for the following component above
	// low: q + r = 3 i s and tan a = sqrt(3) r / (2 q - r).
	sum := 3 * i * s
	sin, cos := math.Sincos(a)
	r := sum * 2 * sin / (math.Sqrt(3)*cos + 3*sin)
	q := sum - r
	c := [3]float64{low, low, low}
	c[third%3] += q
	c[(third+1)%3] += r
	return RGB{c[0], c[1], c[2]}
}
