package main

import (
	"fmt"
	"strings"

	"trueup/colorcalc/quality"
	"trueup/loop/feed"
)

// lightQuality is the colour rendering of a reading that came with a spectrum;
// "" for others. What the spectrum does not carry is left out.
func lightQuality(r feed.Reading) string {
	if r.Spectrum == nil {
		return ""
	}
	var words []string
	if q, err := quality.CRI(*r.Spectrum); err == nil {
		s := fmt.Sprintf("Ra %.0f  R9 %.0f", q.Ra, q.R[8])
		if q.DC > quality.MaxDC {
			s += " (off the locus: Ra has no meaning)"
		}
		words = append(words, s)
	}
	if q, err := quality.TM30(*r.Spectrum); err == nil {
		words = append(words, fmt.Sprintf("Rf %.0f  Rg %.0f", q.Rf, q.Rg))
	}
	if q, err := quality.TLCI(*r.Spectrum); err == nil {
		words = append(words, fmt.Sprintf("TLCI %.0f", q.Qa))
	}
	return strings.Join(words, "  ")
}
