package colorcalc

import (
	"math"
	"sync"

	"trueup/colorcalc/internal/cie"
)

// The Planckian locus of CIE 15:2018: Planck's law with c2 = 1.4388e-2 m K and
// an index of refraction of 1, summed with the CIE 1931 functions at 1 nm over
// 360-830 nm. It is tabulated with its first and second derivatives in ln T at
// a constant ratio, and joined by polynomials of the fifth degree that meet
// all three at both ends; between the entries that stays within 1e-13 of the
// sum in u, v. Forward and back use this one locus, so round trips close.
const (
	planckC2NM   = 1.4388e7 // second radiation constant of CIE 15, nm K
	locusLnStep  = 0.02     // entries are 2 % apart
	locusMargin  = 5        // entries beyond either end of the valid range
	locusEntries = 174
)

// MinCCT and MaxCCT bound the temperatures for which CCT and White answer.
const (
	MinCCT Kelvin = 1000
	MaxCCT Kelvin = 25000
	// MaxDuv is the distance from the locus beyond which CIE 15:2018
	// gives a correlated colour temperature no meaning.
	MaxDuv Duv = 0.05
	// ccts and duvs within this of a bound still count as inside: a reading
	// at the bound must not fall off it by rounding.
	cctSlack = 1e-6
	duvSlack = 1e-8
)

// jet is a point of the locus with derivatives by ln T (or by the fraction of
// a segment).
type jet struct{ u, v, u1, v1, u2, v2 float64 }

// segment joins two entries: u(s) = sum u[k] s^k, s from 0 to 1.
type segment struct{ u, v [6]float64 }

type planckLocus struct {
	lnT0  float64
	u, v  [locusEntries]float64 // the entries, side by side for the search
	nodes [locusEntries]jet     // derivatives by s (ln T / locusLnStep)
	seg   [locusEntries - 1]segment
}

var locus = sync.OnceValue(newPlanckLocus)

func newPlanckLocus() *planckLocus {
	l := &planckLocus{lnT0: math.Log(float64(MinCCT)) - locusMargin*locusLnStep}
	for i := range l.nodes {
		j := planckJet(math.Exp(l.lnT0 + float64(i)*locusLnStep))
		j.u1, j.v1 = j.u1*locusLnStep, j.v1*locusLnStep
		j.u2, j.v2 = j.u2*locusLnStep*locusLnStep, j.v2*locusLnStep*locusLnStep
		l.nodes[i], l.u[i], l.v[i] = j, j.u, j.v
	}
	for i := range l.seg {
		a, b := l.nodes[i], l.nodes[i+1]
		l.seg[i] = segment{quintic(a.u, a.u1, a.u2, b.u, b.u1, b.u2), quintic(a.v, a.v1, a.v2, b.v, b.v1, b.v2)}
	}
	return l
}

// quintic finds the polynomial on 0..1 with the given values, slopes and
// second derivatives at its ends (Hermite interpolation).
func quintic(p0, d0, e0, p1, d1, e1 float64) [6]float64 {
	p, d, e := p1-p0-d0-e0/2, d1-d0-e0, e1-e0
	return [6]float64{p0, d0, e0 / 2, 10*p - 4*d + e/2, -15*p + 7*d - e, 6*p - 3*d + e/2}
}

// at evaluates the segment and its derivatives by s.
func (g *segment) at(s float64) jet {
	u, v := &g.u, &g.v
	return jet{
		u[0] + s*(u[1]+s*(u[2]+s*(u[3]+s*(u[4]+s*u[5])))),
		v[0] + s*(v[1]+s*(v[2]+s*(v[3]+s*(v[4]+s*v[5])))),
		u[1] + s*(2*u[2]+s*(3*u[3]+s*(4*u[4]+s*5*u[5]))),
		v[1] + s*(2*v[2]+s*(3*v[3]+s*(4*v[4]+s*5*v[5]))),
		2*u[2] + s*(6*u[3]+s*(12*u[4]+s*20*u[5])),
		2*v[2] + s*(6*v[3]+s*(12*v[4]+s*20*v[5])),
	}
}

// point finds the locus at a temperature inside the table.
func (l *planckLocus) point(t Kelvin) jet {
	s := (math.Log(float64(t)) - l.lnT0) / locusLnStep
	i := min(max(int(s), 0), len(l.seg)-1)
	return l.seg[i].at(s - float64(i))
}

// planckJet sums Planck's law and its exact derivatives by ln T. With
// z = c2/(lambda T) and g = z/(1-exp(-z)): dP/dlnT = P g and
// d2P/dlnT2 = P (g^2 + dg/dlnT), dg/dlnT = -g (1 - g exp(-z)).
func planckJet(t float64) jet {
	m := cie.CMF2()
	var x, y, w [3]float64 // X, Y, Z, each with its two derivatives
	for i := range m.Len() {
		nm := m.StartNM + float64(i)
		z := planckC2NM / (nm * t)
		q := nm / 560
		p := 1 / (q * q * q * q * q * math.Expm1(z))
		em := math.Exp(-z)
		g := z / (1 - em)
		d := [3]float64{p, p * g, p * (g*g - g*(1-g*em))}
		for k := range d {
			x[k] += d[k] * m.Columns[0][i]
			y[k] += d[k] * m.Columns[1][i]
			w[k] += d[k] * m.Columns[2][i]
		}
	}
	var j jet
	quotient := func(n *[3]float64, f float64) (a, b, c float64) {
		var dn [3]float64
		for k := range dn {
			dn[k] = x[k] + 15*y[k] + 3*w[k]
		}
		a = f * n[0] / dn[0]
		b = (f*n[1] - a*dn[1]) / dn[0]
		c = (f*n[2] - 2*b*dn[1] - a*dn[2]) / dn[0]
		return a, b, c
	}
	j.u, j.u1, j.u2 = quotient(&x, 4)
	j.v, j.v1, j.v2 = quotient(&y, 6)
	return j
}
