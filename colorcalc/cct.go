package colorcalc

import (
	"errors"
	"fmt"
	"math"
)

// Errors of CCT and White, to be told apart with errors.Is.
var (
	// ErrNotAColour: no chromaticity of a possible light (x < 0, y <= 0,
	// x + y > 1, or not finite).
	ErrNotAColour = errors.New("not a possible chromaticity")
	// ErrNoCCT: the nearest point of the Planckian locus lies outside
	// 1000-25000 K, so that a temperature says nothing.
	ErrNoCCT = errors.New("no colour temperature between 1000 and 25000 K")
	// ErrFarFromLocus: further than Duv 0.05 from the Planckian locus.
	ErrFarFromLocus = errors.New("more than Duv 0.05 from the Planckian locus: a colour, not a white")
	// ErrRange: an argument outside the stated range.
	ErrRange = errors.New("out of range")
)

// CCT finds the correlated colour temperature and Duv of a chromaticity: the
// temperature of the nearest point of the Planckian locus in the CIE 1960
// diagram (CIE 15:2018), and the distance to it, positive above the
// locus (ANSI C78.377).
//
// Valid for 1000-25000 K and |Duv| <= 0.05; there the result is that of the
// defining sum to 1e-9 of itself and to 1e-12 in Duv.
//
// Special cases:
//
//	CCT(impossible chromaticity)      = 0, 0, ErrNotAColour
//	CCT(nearest outside 1000-25000 K) = 0, 0, ErrNoCCT
//	CCT(|Duv| > 0.05)                 = the nearest point, for information, and ErrFarFromLocus
func CCT(c XY) (Kelvin, Duv, error) {
	if !c.Valid() {
		return 0, 0, ErrNotAColour
	}
	p := c.UV60()
	l := locus()
	lnT, d, ok := l.nearest(p.U, p.V)
	if !ok {
		return 0, 0, ErrNoCCT
	}
	t := Kelvin(math.Exp(lnT))
	if t < MinCCT*(1-cctSlack) || t > MaxCCT*(1+cctSlack) {
		return 0, 0, ErrNoCCT
	}
	if math.Abs(d) > float64(MaxDuv)+duvSlack {
		return t, Duv(d), ErrFarFromLocus
	}
	return t, Duv(d), nil
}

// nearest finds ln T and the signed distance of the foot of (u, v) on the
// locus: the nearest entry of the table, then safeguarded Newton steps on
// f(s) = (P(s)-p).P'(s) inside the segment that holds the root. ok is false
// when the nearest entry is an end of the table.
func (l *planckLocus) nearest(u, v float64) (lnT, d float64, ok bool) {
	m, best := 0, math.Inf(1)
	for i := range l.u {
		du, dv := l.u[i]-u, l.v[i]-v
		if r := du*du + dv*dv; r < best {
			m, best = i, r
		}
	}
	if m == 0 || m == locusEntries-1 {
		return 0, 0, false
	}
	// The entries beside m are farther away than m: going downhill from m, the
	// distance has its minimum within one segment.
	n := &l.nodes[m]
	i, s, lo, hi := m, 0.0, 0.0, 1.0
	if (n.u-u)*n.u1+(n.v-v)*n.v1 > 0 {
		i, s = m-1, 1.0
	}
	var j jet
	g := &l.seg[i]
	for range 40 {
		j = g.at(s)
		du, dv := j.u-u, j.v-v
		f := du*j.u1 + dv*j.v1
		if f > 0 {
			hi = s
		} else {
			lo = s
		}
		next := s - f/(j.u1*j.u1+j.v1*j.v1+du*j.u2+dv*j.v2)
		if !(next >= lo && next <= hi) {
			next = (lo + hi) / 2 // Newton left the bracket: halve it
		}
		step := math.Abs(next - s)
		s = next
		if step < 1e-10 {
			break
		}
	}
	j = g.at(s)
	tl := math.Sqrt(j.u1*j.u1 + j.v1*j.v1)
	d = ((u-j.u)*j.v1 - (v-j.v)*j.u1) / tl
	return l.lnT0 + (float64(i)+s)*locusLnStep, d, true
}

// White gives the chromaticity at a colour temperature and a distance from the
// Planckian locus, along its normal in the CIE 1960 diagram: the inverse of
// CCT. Valid for 1000-25000 K and |Duv| <= 0.05, else ErrRange; ErrNotAColour
// where that point leaves the diagram (below about 1500 K on the green side).
//
// Round trips with CCT close to 1e-6 K and 1e-12 Duv wherever |Duv| is below
// the locus' radius of curvature, which holds over the whole range.
func White(t Kelvin, d Duv) (XY, error) {
	if !(t >= MinCCT*(1-cctSlack) && t <= MaxCCT*(1+cctSlack)) {
		return XY{}, fmt.Errorf("colour temperature %s: %w, want %v to %v K", t.Text(), ErrRange, float64(MinCCT), float64(MaxCCT))
	}
	if !(math.Abs(float64(d)) <= float64(MaxDuv)+duvSlack) {
		return XY{}, fmt.Errorf("Duv %v: %w, want %v to %v", float64(d), ErrRange, -float64(MaxDuv), float64(MaxDuv))
	}
	j := locus().point(t)
	tl := math.Sqrt(j.u1*j.u1 + j.v1*j.v1)
	c := UV60{j.u + float64(d)*j.v1/tl, j.v - float64(d)*j.u1/tl}.XY()
	if !c.Valid() {
		return XY{}, fmt.Errorf("%s with Duv %s: %w", t.Text(), d.Text(), ErrNotAColour)
	}
	return c, nil
}
