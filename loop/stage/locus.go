package stage

import (
	"math"
	"sync"

	"trueup/colorcalc"
)

// locusStep is the spacing of the tabulated Planckian locus in mired: straight
// lines in between stay within 2e-6 of it in u, v.
const (
	locusStep = 4.0
	locusFrom = 20.0
	locusTo   = 700.0
)

var locusTable = sync.OnceValue(func() []colorcalc.UV60 {
	n := int((locusTo-locusFrom)/locusStep) + 1
	t := make([]colorcalc.UV60, n)
	var p [gridN]float64
	for i := range t {
		s := shape{form: Filament, kelvin: 1e6 / (locusFrom + locusStep*float64(i))}
		s.spd(&p)
		t[i] = integrate(&p).XY().UV60()
	}
	return t
})

// White is the chromaticity at a temperature and a distance from the
// Planckian locus along its normal in CIE 1960 u, v (ANSI C78.377). The stage
// has its own way there, so that a slip in the one it judges shows.
func White(m colorcalc.Mired, d colorcalc.Duv) colorcalc.XY {
	t := locusTable()
	z := (min(max(float64(m), locusFrom+locusStep), locusTo-2*locusStep) - locusFrom) / locusStep
	i := int(z)
	f := z - float64(i)
	at := func(k int) (float64, float64) { return t[k].U, t[k].V }
	u0, v0 := at(i)
	u1, v1 := at(i + 1)
	up, vp := at(i - 1)
	un, vn := at(i + 2)
	// The tangent is blended between the knots so that the normal does not jump.
	tu, tv := (1-f)*(u1-up)+f*(un-u0), (1-f)*(v1-vp)+f*(vn-v0)
	l := math.Hypot(tu, tv)
	u, v := u0+f*(u1-u0), v0+f*(v1-v0)
	// u grows with the mired: the normal to the green side is (-tv, tu) turned up.
	nu, nv := -tv/l, tu/l
	if nv < 0 {
		nu, nv = -nu, -nv
	}
	return colorcalc.UV60{U: u + float64(d)*nu, V: v + float64(d)*nv}.UV().XY()
}
