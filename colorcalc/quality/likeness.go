package quality

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Differences says how far apart one observer sees things under two lights:
// CIEDE2000, each light at Y = 100 for that observer, both against the white of
// the reference, as in a scene that both lamps light.
type Differences struct {
	Mean, Max float64          // over CES01-CES99
	Worst     int              // number of the CES sample that differs most
	White     float64          // of a perfect reflector
	Skin      float64          // mean of CES15 and CES18, light to medium skin
	DarkSkin  float64          // of the dark skin of the TLCI test colours
	DE        [Samples]float64 // of every CES sample
}

// Likeness is what two lights of known spectrum look like beside each other.
// Nothing in it is symmetric: every camera and eye is set on the reference.
type Likeness struct {
	TLMF        *Matching    // the standard camera of EBU Tech 3355
	SSI         float64      // of the test light to the reference's own spectrum
	Deg2, Deg10 *Differences // the CIE observers of 2 and 10 degrees
	Camera      *Differences // nil where no camera was described
}

// Compare says how alike the test light is to the reference; cam may be nil.
// Errors: a broken spectrum, no light, ErrCamera.
func Compare(test, reference spectrum.Spectrum, cam *Camera) (*Likeness, error) {
	l, ref, err := takePair(test, reference)
	if err != nil {
		return nil, err
	}
	r := &Likeness{}
	if r.TLMF, err = tlmf(*l, *ref); err != nil {
		return nil, err
	}
	if r.SSI, err = SSI(test, reference); err != nil {
		return nil, err
	}
	standard := cesSamples2().see(l, ref)
	if cam != nil {
		s := cam.seen.see(l, ref)
		if err := s.develop(standard); err != nil {
			return nil, err
		}
		if r.Camera, err = s.differences(); err != nil {
			return nil, err
		}
	}
	if r.Deg2, err = standard.differences(); err != nil {
		return nil, err
	}
	if r.Deg10, err = cesSamples().see(l, ref).differences(); err != nil {
		return nil, err
	}
	return r, nil
}

// differences compares what was seen; the values are XYZ by now.
func (s *seen) differences() (*Differences, error) {
	var lt, lr [Samples + 2]colorcalc.Lab
	var de [Samples + 2]float64
	yt, yr := s.test[seenWhite].Y, s.ref[seenWhite].Y
	if !(yt > 0 && yr > 0) {
		return nil, fmt.Errorf("test light: %w", spectrum.ErrNoLight)
	}
	white := s.ref[seenWhite].Scale(100 / yr)
	for k := range s.test {
		var okT, okR bool
		lt[k], okT = s.test[k].Scale(100 / yt).Lab(white)
		lr[k], okR = s.ref[k].Scale(100 / yr).Lab(white)
		if !okT || !okR {
			return nil, fmt.Errorf("%w: no colour can be computed for this pair of lights", ErrCamera)
		}
	}
	// Rounding would give the white of the reference a hue, and that moves its
	// difference.
	lr[seenWhite] = colorcalc.Lab{L: 100}
	colorcalc.DeltaE2000s(de[:], lr[:], lt[:])
	d := &Differences{White: de[seenWhite], DarkSkin: de[seenDark], Skin: (de[14] + de[17]) / 2}
	copy(d.DE[:], de[:])
	for k, v := range d.DE {
		d.Mean += v / Samples
		if d.Worst == 0 || v > d.Max {
			d.Max, d.Worst = v, k+1
		}
	}
	return d, nil
}
