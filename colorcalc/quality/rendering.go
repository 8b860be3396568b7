package quality

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// AdaptedEye is the observer of CIE 224:2017: the 10-degree eye, adapted to each light by itself,
// differences in CAM02-UCS. With the light of RenderingReference beside it, the mix
// that looks most alike to it is the one of best fidelity, and FidelityOf its mean is Rf.
func AdaptedEye() Observer {
	return Observer{Name: "Rf of CIE 224", deg: spectrum.Deg10, adapted: true}
}

// RenderingReference is the reference light of CIE 224:2017 at a colour temperature: Planck's up to 4000 K,
// daylight from 5000 K, a mixture in between.
func RenderingReference(t colorcalc.Kelvin) spectrum.Spectrum {
	var l light
	shared().blended(t, &l)
	return spectrum.Visible5.On(func(nm float64) float64 { return l[int(nm-380+0.5)/5] })
}

// FidelityOf is Rf for a mean difference over the samples, as AdaptedEye sees it (CIE 224:2017).
func FidelityOf(mean float64) float64 { return score(mean) }

// appearances compares what was seen with each light's own white at Y = 100.
func (s *seen) appearances() (*Differences, error) {
	wt, wr := s.test[seenWhite], s.ref[seenWhite]
	if !(wt.Y > 0 && wr.Y > 0) {
		return nil, fmt.Errorf("test light: %w", spectrum.ErrNoLight)
	}
	kt, kr := 100/wt.Y, 100/wr.Y
	ct, cr := newAppearance(wt.Scale(kt)), newAppearance(wr.Scale(kr))
	d := &Differences{}
	de := func(i int) float64 { return ct.ucs(s.test[i].Scale(kt)).dist(cr.ucs(s.ref[i].Scale(kr))) }
	for i := range d.DE {
		d.DE[i] = de(i)
		d.Mean += d.DE[i] / Samples
		if d.Worst == 0 || d.DE[i] > d.Max {
			d.Max, d.Worst = d.DE[i], i+1
		}
	}
	d.Skin, d.DarkSkin = (d.DE[14]+d.DE[17])/2, de(seenDark)
	return d, nil
}

// slopeStep is the step of the central differences of an appearance, of a white at 100.
const slopeStep = 0.001

// slopes are the derivatives of J', a', b' by X, Y, Z of a colour and of the white that the eye is
// adapted to, by central differences: rows J', a', b'. The white's Y stays 100: only X and Z count.
func slopes(x, white colorcalc.XYZ) (byColour, byWhite [9]float64) {
	axis := [3]colorcalc.XYZ{{X: slopeStep}, {Y: slopeStep}, {Z: slopeStep}}
	put := func(m *[9]float64, c int, hi, lo ucs) {
		m[c], m[3+c], m[6+c] = (hi.j-lo.j)/(2*slopeStep), (hi.a-lo.a)/(2*slopeStep), (hi.b-lo.b)/(2*slopeStep)
	}
	here := newAppearance(white)
	for c, d := range axis {
		put(&byColour, c, here.ucs(x.Add(d)), here.ucs(x.Sub(d)))
		if c != 1 {
			put(&byWhite, c, newAppearance(white.Add(d)).ucs(x), newAppearance(white.Sub(d)).ucs(x))
		}
	}
	return byColour, byWhite
}
