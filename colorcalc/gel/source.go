package gel

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Source is the light to be filtered. With a Spectrum the result is computed
// from it, and XY may be zero.
type Source struct {
	XY       colorcalc.XY
	Spectrum *spectrum.Spectrum
}

// ratios are ln(X/Y) and ln(Z/Y): filters in a row add up in them nearly, for
// each scales X, Y and Z by factors of its own.
type ratios struct{ p, q float64 }

func ratiosOf(c colorcalc.XYZ) ratios { return ratios{math.Log(c.X / c.Y), math.Log(c.Z / c.Y)} }

func (r ratios) uv() colorcalc.UV {
	return colorcalc.XYZ{X: math.Exp(r.p), Y: 1, Z: math.Exp(r.q)}.UV()
}

func (r ratios) plus(s ratios) ratios  { return ratios{r.p + s.p, r.q + s.q} }
func (r ratios) minus(s ratios) ratios { return ratios{r.p - s.p, r.q - s.q} }

func (r ratios) finite() bool {
	return !math.IsNaN(r.p+r.q) && !math.IsInf(r.p, 0) && !math.IsInf(r.q, 0)
}

// lamp is a source made ready: a spectrum, real or standing in, and what must
// be added to its ratios to meet the chromaticity that was measured.
type lamp struct {
	light   spectrum.Spectrum
	xyz     colorcalc.XYZ
	own     ratios // of the spectrum itself
	offset  ratios
	standIn string // what stands in for the spectrum; "" where it is known
}

func newLamp(s Source) (*lamp, error) {
	l := &lamp{}
	if s.Spectrum != nil {
		if err := s.Spectrum.Check(); err != nil {
			return nil, err
		}
		l.light = s.Spectrum.Resample(nominalGrid)
	} else {
		var err error
		if l.light, l.standIn, err = standInFor(s.XY); err != nil {
			return nil, err
		}
	}
	l.xyz = l.light.XYZ(spectrum.Deg2)
	l.own = ratiosOf(l.xyz)
	if !l.own.finite() {
		return nil, spectrum.ErrNoLight
	}
	if s.Spectrum == nil {
		l.offset = ratiosOf(s.XY.XYZ(1)).minus(l.own)
		if !l.offset.finite() {
			return nil, fmt.Errorf("gel: the source: %w", colorcalc.ErrNotAColour)
		}
	}
	return l, nil
}

// behind computes the light behind layers: its ratios, the share of Y that
// passes, and whether that share is known.
func (l *lamp) behind(layers []*Gel) (r ratios, pass float64, known bool) {
	pass, known = 1, true
	r = l.own
	lit, filtered := l.light, false
	for _, g := range layers {
		if g.Spectrum != nil {
			lit, filtered = lit.Through(*g.Spectrum), true
		}
	}
	if filtered {
		c := lit.XYZ(spectrum.Deg2)
		r, pass = ratiosOf(c), c.Y/l.xyz.Y
	}
	r = r.plus(l.offset)
	var sum Gel // shifts add up, whatever their order
	for _, g := range layers {
		if g.Spectrum != nil {
			continue
		}
		sum.Mired, sum.Duv = sum.Mired+g.Mired, sum.Duv+g.Duv
		if g.Transmission > 0 {
			pass *= g.Transmission
		} else {
			known = false
		}
	}
	if sum.Mired != 0 || sum.Duv != 0 {
		r = r.plus(shiftOf(r, &sum))
	}
	return r, pass, known
}

// shiftOf turns a shift in mired and Duv at a light into one of ratios; NaN
// where light or result has no colour temperature.
func shiftOf(at ratios, g *Gel) ratios {
	nan := ratios{math.NaN(), math.NaN()}
	t, d, err := colorcalc.CCT(at.uv().XY())
	if err != nil {
		return nan
	}
	c, err := colorcalc.White(t.Shift(g.Mired), d+g.Duv)
	if err != nil {
		return nan
	}
	return ratiosOf(c.XYZ(1)).minus(at)
}
