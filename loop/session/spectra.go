package session

import "trueup/colorcalc/spectrum"

// keptSpectrum is a reading's spectrum as the journal keeps it; nil: there is none, or it holds no light.
func keptSpectrum(s *spectrum.Spectrum) *spectrum.Kept {
	if s == nil {
		return nil
	}
	k, err := spectrum.Keep(*s)
	if err != nil {
		return nil
	}
	return k
}
