package colorcalc

import "math"

// Lab is CIELAB 1976 (ISO/CIE 11664-4) against some white.
type Lab struct{ L, A, B float64 }

const labDelta = 6.0 / 29

// Lab converts to CIELAB against the white w. Zero and ok = false where the
// white has no positive X, Y and Z or a value is not finite.
func (c XYZ) Lab(w XYZ) (lab Lab, ok bool) {
	if !(w.X > 0 && w.Y > 0 && w.Z > 0) {
		return Lab{}, false
	}
	f := func(q float64) float64 {
		if q > labDelta*labDelta*labDelta {
			return math.Cbrt(q)
		}
		return q/(3*labDelta*labDelta) + 4.0/29
	}
	x, y, z := f(c.X/w.X), f(c.Y/w.Y), f(c.Z/w.Z)
	lab = Lab{116*y - 16, 500 * (x - y), 200 * (y - z)}
	if s := lab.L + lab.A + lab.B; math.IsNaN(s) || math.IsInf(s, 0) {
		return Lab{}, false
	}
	return lab, true
}

// LabSlopes are the derivatives of L, a and b (rows) by X, Y and Z (columns) at a colour,
// against the white w, which must have light: CIE 15:2018 8.2.1.1 differentiated.
func (c XYZ) LabSlopes(w XYZ) [9]float64 {
	slope := func(q float64) float64 {
		if q > labDelta*labDelta*labDelta {
			r := math.Cbrt(q)
			return 1 / (3 * r * r)
		}
		return 1 / (3 * labDelta * labDelta)
	}
	x, y, z := slope(c.X/w.X)/w.X, slope(c.Y/w.Y)/w.Y, slope(c.Z/w.Z)/w.Z
	return [9]float64{0, 116 * y, 0, 500 * x, -500 * y, 0, 0, 200 * y, -200 * z}
}

// XYZ converts back against the white w; exact to rounding.
func (l Lab) XYZ(w XYZ) XYZ {
	f := func(q float64) float64 {
		if q > labDelta {
			return q * q * q
		}
		return 3 * labDelta * labDelta * (q - 4.0/29)
	}
	y := (l.L + 16) / 116
	return XYZ{w.X * f(y+l.A/500), w.Y * f(y), w.Z * f(y-l.B/200)}
}

// LCh gives chroma and hue angle in degrees, 0..360; 0 for greys.
func (l Lab) LCh() (lightness, chroma, hue float64) {
	return l.L, math.Hypot(l.A, l.B), hueDegrees(l.A, l.B)
}

func hueDegrees(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

// oppositeMargin keeps exactly opposite hues on the "<= 180 degrees" side,
// whatever rounding did to their angles.
const oppositeMargin = 1e-9

// DeltaE2000 is CIEDE2000 with kL = kC = kH = 1 (ISO/CIE 11664-6:2014; Sharma,
// Wu and Dalal, Color Research and Application 30, 2005). Symmetric; NaN only
// for values that are not finite.
func DeltaE2000(p, q Lab) float64 {
	const pow25to7 = 6103515625
	rad := func(deg float64) float64 { return deg * math.Pi / 180 }
	chromaFactor := func(c float64) float64 {
		c7 := math.Pow(c, 7)
		if math.IsInf(c7, 1) {
			return 1
		}
		return math.Sqrt(c7 / (c7 + pow25to7))
	}
	g := 1 + 0.5*(1-chromaFactor((math.Hypot(p.A, p.B)+math.Hypot(q.A, q.B))/2))
	c1, c2 := math.Hypot(g*p.A, p.B), math.Hypot(g*q.A, q.B)
	h1, h2 := hueDegrees(g*p.A, p.B), hueDegrees(g*q.A, q.B)
	dh, h := 0.0, h1+h2
	if c1*c2 != 0 {
		dh = h2 - h1
		switch d := math.Abs(dh); {
		case d <= 180+oppositeMargin:
			h /= 2
		case h < 360:
			h = (h + 360) / 2
		default:
			h = (h - 360) / 2
		}
		if dh > 180+oppositeMargin {
			dh -= 360
		} else if dh < -180-oppositeMargin {
			dh += 360
		}
	}
	dL, dC, dH := q.L-p.L, c2-c1, 2*math.Sqrt(c1*c2)*math.Sin(rad(dh)/2)
	l, c := (p.L+q.L)/2, (c1+c2)/2
	t := 1 - .17*math.Cos(rad(h-30)) + .24*math.Cos(rad(2*h)) + .32*math.Cos(rad(3*h+6)) - .20*math.Cos(rad(4*h-63))
	l50 := (l - 50) * (l - 50)
	sL, sC, sH := 1+.015*l50/math.Sqrt(20+l50), 1+.045*c, 1+.015*c*t
	z := (h - 275) / 25
	rT := -2 * chromaFactor(c) * math.Sin(rad(60*math.Exp(-z*z)))
	a, b, e := dL/sL, dC/sC, dH/sH
	return math.Sqrt(max(a*a+b*b+e*e+rT*b*e, 0))
}
