package quality

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Patches is what the 2-degree eye sees of a CES sample (1 to 99) under two lights of the same level, both relative to the white of the
// reference at Y = 1: how a screen may show, nearly, what differs. Errors: a broken spectrum, no light, no such sample.
func Patches(test, reference spectrum.Spectrum, sample int) (underTest, underRef, white colorcalc.XYZ, err error) {
	if sample < 1 || sample > Samples {
		return underTest, underRef, white, fmt.Errorf("quality: there is no sample %d", sample)
	}
	l, ref, err := takePair(test, reference)
	if err != nil {
		return underTest, underRef, white, err
	}
	s := cesSamples2().see(l, ref)
	white = s.ref[seenWhite].Scale(1 / s.ref[seenWhite].Y)
	return s.test[sample-1].Scale(1 / s.test[seenWhite].Y), s.ref[sample-1].Scale(1 / s.ref[seenWhite].Y), white, nil
}
