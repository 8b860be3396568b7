package gel

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// maxCC bounds the density that CC looks for: twice the strongest usual step.
const maxCC = 60

// CC gives the nominal density, in compensating-filter units, that shifts the
// tint of this light by about d: CC30 has a density of 0.30 to the light that
// it holds back. green tells a plus green from a minus green filter. The
// figure is derived for this light from an ideal dye, for what a unit does
// depends on the light; a real dye needs up to a quarter more. Errors: as for
// Choose, and a shift that CC60 does not reach.
func CC(from Source, d colorcalc.Duv) (cc float64, green bool, err error) {
	l, err := newLamp(from)
	if err != nil {
		return 0, false, err
	}
	green = d > 0
	_, start, err := colorcalc.CCT(l.own.plus(l.offset).uv().XY())
	if err != nil {
		return 0, false, fmt.Errorf("gel: the source: %w", err)
	}
	reach := func(cc float64) float64 { // how far the tint goes towards d
		s := compensating(cc, green)
		r, _, _ := l.behind([]*Gel{{Spectrum: &s}})
		_, to, err := colorcalc.CCT(r.uv().XY())
		if err != nil {
			return math.Inf(1) // beyond Duv 0.05: farther than anybody asks
		}
		return math.Abs(float64(to - start))
	}
	want := math.Abs(float64(d))
	lo, hi := 0.0, float64(maxCC)
	if !(want <= float64(colorcalc.MaxDuv) && want <= reach(hi)) {
		return 0, green, fmt.Errorf("gel: a tint shift of %+.4f needs more than CC%d", float64(d), maxCC)
	}
	for range 40 {
		mid := (lo + hi) / 2
		if reach(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, green, nil
}

// standInFor makes the light that is taken for a source without a spectrum.
func standInFor(c colorcalc.XY) (s spectrum.Spectrum, name string, err error) {
	t, _, err := colorcalc.CCT(c)
	if err != nil {
		return s, "", fmt.Errorf("gel: the source: %w; give its spectrum", err)
	}
	if t >= 5000 {
		s, err = spectrum.Daylight(t, nominalGrid)
		return s, fmt.Sprintf("daylight of %.0f K", float64(t)), err
	}
	s, err = spectrum.Planck(t, nominalGrid)
	return s, fmt.Sprintf("a black body of %.0f K", float64(t)), err
}
