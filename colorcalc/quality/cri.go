package quality

import (
	_ "embed"
	"math"
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/table"
	"trueup/colorcalc/spectrum"
)

//go:embed cri_tcs.csv
var criTCS string

// Rendering is the result of CIE 13.3-1995.
type Rendering struct {
	Ra float64     // mean of R1..R8 before any rounding
	R  [15]float64 // R1..R14 of CIE 13.3, R15 of JIS Z 8726; negative values are legal
	// RaOfRounded is the mean after rounding each of R1..R8 to a whole number,
	// as the published values of the FL illuminants were made.
	RaOfRounded float64
	CCT         colorcalc.Kelvin
	Duv         colorcalc.Duv
	// DC is the distance of the two white points in CIE 1960 u, v. Beyond
	// MaxDC the standard gives the index no meaning.
	DC float64
}

// MaxDC is the largest distance of the white points (CIE 13.3).
const MaxDC = 5.4e-3

// Meaningful reports whether the source is near enough to its reference.
func (r *Rendering) Meaningful() bool { return r.DC <= MaxDC }

// criSamples holds sample times colour-matching function for each sample.
var criSamples = sync.OnceValue(func() *[15]weights {
	t := table.Must(criTCS)
	b := shared()
	var out [15]weights
	for k := range out {
		weigh(&out[k], t, k, &b.obs2)
	}
	return &out
})

// weigh multiplies a tabulated sample with an observer; dark where the table ends.
func weigh(dst *weights, t *table.Table, column int, o *[3]light) {
	first := int(380-t.StartNM) / 5
	for i := range min(points, t.Len()-first) {
		for c := range dst[i] {
			dst[i][c] = t.Columns[column][first+i] * o[c][i]
		}
	}
}

// CRI computes the colour rendering indices of CIE 13.3-1995: 5 nm, 380-780 nm,
// reference Planckian below 5000 K and daylight from there on. Errors: a broken
// spectrum, no light, ErrNoReference for a source without a colour temperature
// of 1000-25000 K.
func CRI(s spectrum.Spectrum) (Rendering, error) {
	l, err := take(s)
	if err != nil {
		return Rendering{}, err
	}
	b := shared()
	var r Rendering
	if r.CCT, r.Duv, err = b.temperature(l); err != nil {
		return Rendering{}, err
	}
	var ref light
	if r.CCT < 5000 {
		b.planck(r.CCT, &ref)
	} else {
		b.daylight(r.CCT, &ref)
	}
	test, want := tristimulus(l, &b.obs2), tristimulus(&ref, &b.obs2)
	k, w := test.XY().UV60(), want.XY().UV60()
	r.DC = math.Hypot(k.U-w.U, k.V-w.V)
	ck, dk := adaptation(k)
	cr, dr := adaptation(w)
	kTest, kRef := 100/test.Y, 100/want.Y

	samples := criSamples()
	for i := range samples {
		t, f := samples[i].sums(l, &ref)
		t, f = t.Scale(kTest), f.Scale(kRef)
		// The sample under the test light, shifted to the reference white by
		// von Kries (CIE 13.3).
		c, d := adaptation(t.XY().UV60())
		c, d = c*cr/ck, d*dr/dk
		n := 16.518 + 1.481*c - d
		shifted := colorcalc.UV60{U: (10.872 + 0.404*c - 4*d) / n, V: 5.520 / n}
		u1, v1, w1 := uvw(f.Y, f.XY().UV60(), w)
		u2, v2, w2 := uvw(t.Y, shifted, w)
		r.R[i] = 100 - 4.6*math.Sqrt((u1-u2)*(u1-u2)+(v1-v2)*(v1-v2)+(w1-w2)*(w1-w2))
	}
	for _, v := range r.R[:8] {
		r.Ra += v / 8
		r.RaOfRounded += math.Round(v) / 8
	}
	return r, nil
}

// adaptation gives c and d of CIE 13.3.
func adaptation(p colorcalc.UV60) (c, d float64) {
	if p.V == 0 {
		return 0, 0
	}
	return (4 - p.U - 10*p.V) / p.V, (1.708*p.V + 0.404 - 1.481*p.U) / p.V
}

// uvw is CIE 1964 U*V*W* against the white (CIE 13.3).
func uvw(y float64, p, white colorcalc.UV60) (u, v, w float64) {
	w = 25*math.Cbrt(y) - 17
	return 13 * w * (p.U - white.U), 13 * w * (p.V - white.V), w
}
