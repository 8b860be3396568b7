package quality

import (
	_ "embed"
	"math"
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

//go:embed ces99.csv
var ces99 string

// Samples and hue bins of CIE 224:2017 and ANSI/IES TM-30.
const (
	Samples = 99
	HueBins = 16
)

// Fidelity is the result of CIE 224:2017 (Rf) and ANSI/IES TM-30-20.
type Fidelity struct {
	Rf, Rg float64
	CCT    colorcalc.Kelvin
	Duv    colorcalc.Duv
	RfCES  [Samples]float64 // fidelity of every sample
	// By hue bin of 22.5 degrees, the first from 0 degrees (red) on: local
	// fidelity, chroma shift in percent, hue shift as a fraction (radian).
	RfH, RcsH, RhsH [HueBins]float64
	Counts          [HueBins]int // samples in the bin
	// Test and Reference are the mean a', b' of each bin: the corners of the
	// colour vector graphic.
	Test, Reference [HueBins][2]float64
}

// fidelityScale turns a colour difference in CAM02-UCS into a score (CIE
// 224:2017; TM-30-15 had 7.54 and other samples).
const fidelityScale = 6.73

var cesSamples = sync.OnceValue(func() *observed { return observe(&shared().obs10) })

// TM30 computes fidelity and gamut: 5 nm, 380-780 nm, samples and whites with
// the 10-degree observer, CCT with the 2-degree one; reference Planckian up to
// 4000 K, daylight from 5000 K, a mixture in between. Errors as for CRI.
//
// A sample whose hue under the reference lies within 0.02 degrees of the edge
// of a bin may fall to either side with the last digit of a table; it may move
// Rg by 0.3 and a bin value by 1.5.
func TM30(s spectrum.Spectrum) (*Fidelity, error) {
	l, err := take(s)
	if err != nil {
		return nil, err
	}
	b := shared()
	r := &Fidelity{}
	if r.CCT, r.Duv, err = b.temperature(l); err != nil {
		return nil, err
	}
	var ref light
	b.blended(r.CCT, &ref)
	wt, wr := tristimulus(l, &b.obs10), tristimulus(&ref, &b.obs10)
	kt, kr := 100/wt.Y, 100/wr.Y
	camT, camR := newAppearance(wt.Scale(kt)), newAppearance(wr.Scale(kr))

	var sum float64
	var binDE [HueBins]float64
	samples := cesSamples().ces[:]
	for i := range samples {
		t, f := samples[i].sums(l, &ref)
		ut, ur := camT.ucs(t.Scale(kt)), camR.ucs(f.Scale(kr))
		de := ut.dist(ur)
		r.RfCES[i] = score(de)
		sum += de
		k := hueBin(ur)
		r.Counts[k]++
		binDE[k] += de
		r.Test[k][0], r.Test[k][1] = r.Test[k][0]+ut.a, r.Test[k][1]+ut.b
		r.Reference[k][0], r.Reference[k][1] = r.Reference[k][0]+ur.a, r.Reference[k][1]+ur.b
	}
	r.Rf = score(sum / Samples)
	for k := range HueBins {
		if r.Counts[k] == 0 {
			continue // no reference light of the standard leaves a bin empty
		}
		n := float64(r.Counts[k])
		r.RfH[k] = score(binDE[k] / n)
		for c := range 2 {
			r.Test[k][c] /= n
			r.Reference[k][c] /= n
		}
		t, f := r.Test[k], r.Reference[k]
		sin, cos := math.Sincos((float64(k) + 0.5) * 2 * math.Pi / HueBins)
		length := math.Hypot(f[0], f[1])
		qa, qb := (t[0]-f[0])/length, (t[1]-f[1])/length
		r.RcsH[k] = 100 * (qa*cos + qb*sin)
		r.RhsH[k] = -qa*sin + qb*cos
	}
	r.Rg = 100 * area(&r.Test) / area(&r.Reference)
	return r, nil
}

// blended is the reference of CIE 224: the mixture weighs both parts
// at equal luminance Y10.
func (b *base) blended(t colorcalc.Kelvin, dst *light) {
	switch {
	case t <= 4000:
		b.planck(t, dst)
	case t >= 5000:
		b.daylight(t, dst)
	default:
		var p light
		b.planck(t, &p)
		b.daylight(t, dst)
		f := float64(t-4000) / 1000
		kp, kd := (1-f)/dot(&p, &b.obs10[1]), f/dot(dst, &b.obs10[1])
		for i := range dst {
			dst[i] = kp*p[i] + kd*dst[i]
		}
	}
}

// score maps a difference to 0..100 without a corner at zero.
func score(de float64) float64 {
	return 10 * math.Log1p(math.Exp((100-fidelityScale*de)/10))
}

func hueBin(u ucs) int {
	h := math.Atan2(u.b, u.a)
	if h < 0 {
		h += 2 * math.Pi
	}
	return min(int(h*HueBins/(2*math.Pi)), HueBins-1)
}

// area of the polygon through the bins' means.
func area(p *[HueBins][2]float64) float64 {
	sum := 0.0
	for i := range p {
		q := p[(i+1)%HueBins]
		sum += p[i][0]*q[1] - q[0]*p[i][1]
	}
	return math.Abs(sum) / 2
}
