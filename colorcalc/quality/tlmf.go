package quality

import (
	"fmt"

	"trueup/colorcalc/spectrum"
)

// TLMFSamples is the number of samples of TLMF-2013: the test colours of TLCI
// and six greys.
const TLMFSamples = 24

// Matching is the result of TLMF-2013 (EBU Tech 3355, March 2017).
type Matching struct {
	Q        float64              // 0..100, 100 for no difference
	DEa      float64              // fourth-power mean of the differences that count
	DE       [TLMFSamples]float64 // CIEDE2000 on the screen; 19-24 are greys
	Worst    int                  // sample, from 1, that differs most of those that count
	Excluded []int                // samples, from 1, left out for a negative camera signal
	// Luma is how bright the test light is on the white card when the reference
	// is 1; it says something only of spectra in one unit.
	Luma float64
}

// TLMF computes the television luminaire matching factor: how alike a light is
// to a reference of known spectrum on the standard camera of EBU Tech 3355. The
// camera is balanced on the reference and stays so; only the exposure of the test
// light is set again. So a colour cast counts, and the result is not symmetric.
// Errors: a broken spectrum, no light.
func TLMF(test, reference spectrum.Spectrum) (*Matching, error) {
	l, ref, err := takePair(test, reference)
	if err != nil {
		return nil, err
	}
	return tlmf(*l, *ref)
}

func takePair(test, reference spectrum.Spectrum) (l, ref *light, err error) {
	if l, err = take(test); err != nil {
		return nil, nil, fmt.Errorf("test light: %w", err)
	}
	if ref, err = take(reference); err != nil {
		return nil, nil, fmt.Errorf("reference light: %w", err)
	}
	return l, ref, nil
}

func tlmf(l, ref light) (*Matching, error) {
	tlciCut(&l)
	tlciCut(&ref)
	d := tlciData()
	balance := cameraBalance(&ref, d)
	var card [3]float64
	for c := range card {
		card[c] = greyCard * dot(&l, &d.camera[c]) * balance[c]
	}
	r, g, b := apply3(&tlciMatrix, card[0], card[1], card[2])
	m := &Matching{Luma: tlciDisplay[3]*r + tlciDisplay[4]*g + tlciDisplay[5]*b}
	if !(m.Luma > 0) {
		return nil, fmt.Errorf("test light: %w", spectrum.ErrNoLight)
	}
	exposed := balance
	for c := range exposed {
		exposed[c] /= m.Luma
	}
	var err error
	if m.Excluded, m.DEa, err = televisionDifferences(m.DE[:], &l, &ref, exposed, balance); err != nil {
		return nil, err
	}
	m.Q = televisionScore(m.DEa)
	out := make(map[int]bool, len(m.Excluded))
	for _, k := range m.Excluded {
		out[k] = true
	}
	for k, v := range m.DE {
		if !out[k+1] && (m.Worst == 0 || v > m.DE[m.Worst-1]) {
			m.Worst = k + 1
		}
	}
	return m, nil
}
