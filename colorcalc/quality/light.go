package quality

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/cie"
	"trueup/colorcalc/spectrum"
)

// points is the number of samples of 380-780 nm at 5 nm.
const points = 81

// light is a spectral distribution on the grid of this package.
type light [points]float64

// ErrNoReference says that the light has no colour temperature, so that the standards
// have no reference to hold beside it.
var ErrNoReference = errors.New("quality: no reference light: the source has no colour temperature")

// base holds what the methods share: the observers and the daylight
// components on the grid, and for Planck's law what does not depend on T.
type base struct {
	obs2, obs10 [3]light
	s0, s1, s2  light
	fifth       light // (560/nm)^5
	c2          light // C2/nm
}

var shared = sync.OnceValue(func() *base {
	b := &base{}
	for i := range points {
		nm := spectrum.Visible5.NM(i)
		k := int(nm - 360)
		for c := range 3 {
			b.obs2[c][i] = cie.CMF2().Columns[c][k]
			b.obs10[c][i] = cie.CMF10().Columns[c][k]
		}
		d := int(nm-300) / 5
		b.s0[i], b.s1[i], b.s2[i] = cie.Daylight().Columns[0][d], cie.Daylight().Columns[1][d], cie.Daylight().Columns[2][d]
		q := 560 / nm
		b.fifth[i] = q * q * q * q * q
		b.c2[i] = spectrum.C2 / nm
	}
	return b
})

// take puts a spectrum on the grid.
func take(s spectrum.Spectrum) (*light, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	var l light
	s.Fill(l[:], spectrum.Visible5)
	if !(dot(&l, &shared().obs2[1]) > 0) {
		return nil, spectrum.ErrNoLight
	}
	return &l, nil
}

// dot is the sum over the grid, in four lanes so that the processor need not
// wait for each addition.
func dot(a, b *light) float64 {
	var s0, s1, s2, s3 float64
	for i := 0; i+3 < points; i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	return (s0 + s1) + (s2 + s3) + a[points-1]*b[points-1]
}

// weights holds the three functions of a sum side by side, so that two lights
// can be summed against them in one pass.
type weights [points][3]float64

// sums integrates two lights against the same weights.
func (w *weights) sums(a, b *light) (ca, cb colorcalc.XYZ) {
	for i := range w {
		x, y, z := w[i][0], w[i][1], w[i][2]
		p, q := a[i], b[i]
		ca.X += p * x
		ca.Y += p * y
		ca.Z += p * z
		cb.X += q * x
		cb.Y += q * y
		cb.Z += q * z
	}
	return ca, cb
}

// power is x to the y for x not negative; to a few units in the last place,
// and far faster than math.Pow, which looks for exact cases.
func power(x, y float64) float64 {
	if !(x > 0) {
		return 0
	}
	return math.Exp(y * math.Log(x))
}

// tristimulus is the plain sum against an observer.
func tristimulus(l *light, o *[3]light) colorcalc.XYZ {
	return colorcalc.XYZ{X: dot(l, &o[0]), Y: dot(l, &o[1]), Z: dot(l, &o[2])}
}

// planck fills dst with a black body, 100 at 560 nm.
func (b *base) planck(t colorcalc.Kelvin, dst *light) {
	ref := 100 * math.Expm1(spectrum.C2/(560*float64(t)))
	for i := range dst {
		dst[i] = ref * b.fifth[i] / math.Expm1(b.c2[i]/float64(t))
	}
}

// daylight fills dst with CIE daylight, 100 at 560 nm; t within 4000-25000 K.
func (b *base) daylight(t colorcalc.Kelvin, dst *light) {
	c, _ := colorcalc.Daylight(min(max(t, colorcalc.MinDaylight), colorcalc.MaxDaylight))
	m1, m2 := colorcalc.DaylightFactors(c)
	for i := range dst {
		dst[i] = b.s0[i] + m1*b.s1[i] + m2*b.s2[i]
	}
}

// temperature finds CCT and Duv of a light over the grid. A light too far from
// the locus for a meaningful CCT still has the nearest one.
func (b *base) temperature(l *light) (colorcalc.Kelvin, colorcalc.Duv, error) {
	t, d, err := colorcalc.CCT(tristimulus(l, &b.obs2).XY())
	if err != nil && !errors.Is(err, colorcalc.ErrFarFromLocus) {
		return 0, 0, fmt.Errorf("%w (%w)", ErrNoReference, err)
	}
	return t, d, nil
}
