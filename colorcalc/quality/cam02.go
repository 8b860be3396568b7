package quality

import (
	"math"

	"trueup/colorcalc"
)

// appearance is CIECAM02 (CIE 159:2004) under the conditions of CIE 224:2017:
// adapting luminance 100 cd/m2, background 20, average surround,
// complete adaptation to the white of the light itself.
type appearance struct {
	gain [3]float64 // Yw / RGBw
	aw   float64    // response of the white
}

const (
	camLA = 100.0
	camYb = 20.0
	camN  = camYb / 100
	camC  = 0.69
	camNc = 1.0
)

var (
	camFL  = luminanceLevel(camLA)
	camNbb = 0.725 * math.Pow(camN, -0.2)
	camZ   = 1.48 + math.Sqrt(camN)
	camT   = math.Pow(1.64-math.Pow(0.29, camN), 0.73)
	sin2   = math.Sin(2) // of the hue offset in the eccentricity
	cos2   = math.Cos(2)
	camFL4 = math.Pow(camFL, 0.25)
	// camToHPE goes from sharpened responses straight to those of the cones.
	camToHPE = product3(hpe, inverse3(cat02))
)

// CAT02 and Hunt-Pointer-Estevez matrices of CIE 159:2004.
var (
	cat02 = [9]float64{.7328, .4296, -.1624, -.7036, 1.6975, .0061, .0030, .0136, .9834}
	hpe   = [9]float64{.38971, .68898, -.07868, -.22981, 1.1834, .04641, 0, 0, 1}
)

func luminanceLevel(la float64) float64 {
	k := 1 / (5*la + 1)
	k4 := k * k * k * k
	return 0.2*k4*5*la + 0.1*(1-k4)*(1-k4)*math.Cbrt(5*la)
}

func apply3(m *[9]float64, x, y, z float64) (a, b, c float64) {
	return m[0]*x + m[1]*y + m[2]*z, m[3]*x + m[4]*y + m[5]*z, m[6]*x + m[7]*y + m[8]*z
}

func product3(a, b [9]float64) (c [9]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[3*i+j] += a[3*i+k] * b[3*k+j]
			}
		}
	}
	return c
}

func inverse3(m [9]float64) [9]float64 {
	a, b, c, d, e, f, g, h, i := m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]
	k := 1 / (a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g))
	return [9]float64{(e*i - f*h) * k, (c*h - b*i) * k, (b*f - c*e) * k,
		(f*g - d*i) * k, (a*i - c*g) * k, (c*d - a*f) * k, (d*h - e*g) * k, (b*g - a*h) * k, (a*e - b*d) * k}
}

// newAppearance adapts to a white with Y = 100.
func newAppearance(white colorcalc.XYZ) *appearance {
	a := &appearance{}
	r, g, b := apply3(&cat02, white.X, white.Y, white.Z)
	a.gain = [3]float64{white.Y / r, white.Y / g, white.Y / b}
	ra, ga, ba := a.responses(white)
	a.aw = (2*ra + ga + ba/20 - 0.305) * camNbb
	return a
}

// responses are the compressed cone responses R'a, G'a, B'a.
func (a *appearance) responses(c colorcalc.XYZ) (r, g, b float64) {
	r, g, b = apply3(&cat02, c.X, c.Y, c.Z)
	r, g, b = apply3(&camToHPE, r*a.gain[0], g*a.gain[1], b*a.gain[2])
	return compress(r), compress(g), compress(b)
}

func compress(v float64) float64 {
	q := power(camFL*math.Abs(v)/100, 0.42)
	return math.Copysign(400*q/(27.13+q), v) + 0.1
}

// ucs is a colour in CAM02-UCS (Luo, Cui and Li 2006): lightness and the two
// opponent axes.
type ucs struct{ j, a, b float64 }

func (a *appearance) ucs(c colorcalc.XYZ) ucs {
	r, g, b := a.responses(c)
	ca, cb := r-12*g/11+b/11, (r+g-2*b)/9
	m := math.Sqrt(ca*ca + cb*cb)
	ach := max((2*r+g+b/20-0.305)*camNbb, 0)
	j := 100 * power(ach/a.aw, camC*camZ)
	u := ucs{j: 1.7 * j / (1 + 0.007*j)}
	if m == 0 {
		return u
	}
	cos, sin := ca/m, cb/m
	// cos(h + 2) by the sum of angles: the hue itself is not needed
	et := (cos*cos2 - sin*sin2 + 3.8) / 4
	t := 50000.0 / 13 * camNc * camNbb * et * m / (r + g + 21*b/20)
	chroma := power(t, 0.9) * math.Sqrt(j/100) * camT
	mp := math.Log1p(0.0228*chroma*camFL4) / 0.0228
	u.a, u.b = mp*cos, mp*sin
	return u
}

func (u ucs) dist(v ucs) float64 {
	return math.Sqrt((u.j-v.j)*(u.j-v.j) + (u.a-v.a)*(u.a-v.a) + (u.b-v.b)*(u.b-v.b))
}
