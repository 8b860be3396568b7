package colorcalc

import (
	"math"
	"sync"
)

// Cosine and sine of the hues in the formula: 275 degrees, the middle of the
// rotation term, and the offsets of 30, 6 and 63 in the hue weight T.
const (
	cos275, sin275 = 0.08715574274765789, -0.9961946980917455
	cos30, sin30   = 0.8660254037844386, 0.5
	cos6, sin6     = 0.9945218953682733, 0.10452846326765347
	cos63, sin63   = 0.4539904997395468, 0.8910065241883678
	// Of 132 degrees: farther than that from 275 the rotation term is below 1e-12 of
	// itself.
	cosFar = -0.6691306063588582
)

// DeltaE2000s fills dst[i] with the CIEDE2000 of p[i] and q[i]; all three have
// the same length. It agrees with DeltaE2000 to 1e-9 and is several times as
// fast: the hues enter as unit vectors and by the addition theorems, so that
// no angle is left; the one function of an angle that they do not give comes
// from a table. Pairs for which that way is badly conditioned (a grey, opposite
// hues, a mean hue at the step from 360 to 0 degrees, values beyond any colour)
// go through DeltaE2000 itself.
func DeltaE2000s(dst []float64, p, q []Lab) {
	p, q = p[:len(dst)], q[:len(dst)]
	table := rotations()
	for i := range dst {
		dst[i] = deltaE2000ByVectors(&p[i], &q[i], table)
	}
}

// seventh is c^7/(c^7 + 25^7), whose root the formula takes twice.
func seventh(c float64) float64 {
	c2 := c * c
	c7 := c2 * c2 * c2 * c
	return c7 / (c7 + 6103515625)
}

func deltaE2000ByVectors(p, q *Lab, rotations *rotationTable) float64 {
	pb2, qb2 := p.B*p.B, q.B*q.B
	g := 1.5 - 0.5*math.Sqrt(seventh((math.Sqrt(p.A*p.A+pb2)+math.Sqrt(q.A*q.A+qb2))/2))
	pa, qa := g*p.A, g*q.A
	c1, c2 := math.Sqrt(pa*pa+pb2), math.Sqrt(qa*qa+qb2)
	c12 := c1 * c2
	half := c12 + pa*qa + p.B*q.B // 2 c1 c2 cos^2 of half the difference of hue
	// The mean hue is the direction of the sum of both unit vectors.
	x, y := pa*c2+qa*c1, p.B*c2+q.B*c1
	if !(c12 > 1e-12 && c12 < 1e12 && half > 1e-6*c12) || math.Abs(y) < 1e-9*x {
		return DeltaE2000(*p, *q)
	}
	k := 1 / math.Sqrt(2*c12*half) // the length of (x, y)
	x, y = x*k, y*k
	// cos and sin of 2h, 3h and 4h
	x2, y2 := x*x-y*y, 2*x*y
	x3, y3 := x2*x-y2*y, y2*x+x2*y
	x4, y4 := x2*x2-y2*y2, 2*x2*y2
	t := (1 - (.17*cos30)*x - (.17*sin30)*y) + (.24*x2 + (.32*cos6)*x3) - ((.32*sin6)*y3 + (.20*cos63)*x4 + (.20*sin63)*y4)

	// The squares of lightness, chroma and hue over their weights, with one
	// division. The difference of hue is sqrt(2/half) times cross.
	c, l50 := (c1+c2)/2, (p.L+q.L)/2-50
	l50 *= l50
	r := math.Sqrt(20 + l50)
	cross := pa*q.B - qa*p.B
	sL, sC, sH := r+.015*l50, 1+.045*c, 1+.015*c*t
	sL2, sC2, sH2 := sL*sL, sC*sC, sH*sH*half
	dL, dC := (q.L-p.L)*r, c2-c1
	inverse := 1 / (sL2 * sC2 * sH2)
	if !(inverse > 1e-290) {
		return DeltaE2000(*p, *q)
	}
	sum := (dL*dL*sC2*sH2 + sL2*(dC*dC*sH2+2*cross*cross*sC2)) * inverse
	// The rotation counts within 132 degrees of 275. But the formula counts the
	// hue from 0 to 360 and does not go round, so that the first quarter is far away.
	if cos := x*cos275 + y*sin275; cos > cosFar && (y < 0 || x < 0) {
		sum -= 2 * rotations.at(1-cos) * dC * cross * math.Sqrt(2*seventh(c)*half) * (inverse * sL2 * sC * sH)
	}
	return math.Sqrt(max(sum, 0))
}

// rotationStep is the step of the table below, a power of two.
const rotationStep = 1. / 2048

// rotationTable holds sin(60 degrees * exp(-((h - 275)/25)^2)) by 1 - cos(h - 275),
// in which it is smooth, from one step below 0 on.
type rotationTable [3424]float64

var rotations = sync.OnceValue(func() *rotationTable {
	t := &rotationTable{}
	for i := range t {
		w := math.Abs(float64(i-1)) * rotationStep
		// Below 0 the angle is imaginary, and its square negative.
		z := 2 * math.Asin(math.Sqrt(w/2)) * 180 / (25 * math.Pi)
		z2 := z * z
		if i == 0 {
			z = 2 * math.Asinh(math.Sqrt(w/2)) * 180 / (25 * math.Pi)
			z2 = -z * z
		}
		t[i] = math.Sin(math.Pi / 3 * math.Exp(-z2))
	}
	return t
})

// at interpolates by the cubic through four neighbours, to 2e-10.
func (t *rotationTable) at(w float64) float64 {
	w = max(w, 0) * (1 / rotationStep)
	i := min(int(w), len(t)-4)
	f := w - float64(i)
	p := (*[4]float64)(t[i : i+4])
	b := (p[0]+p[2])/2 - p[1]
	a := (p[3]-p[0])*(1./6) + (p[1]-p[2])/2
	return p[1] + f*(p[2]-p[1]-a-b+f*(b+f*a))
}
