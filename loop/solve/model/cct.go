package model

import (
	"math"

	"trueup/loop/solve/num"
	"trueup/profiles/law"
)

// cctLaw is a colour-temperature mode: mired and Duv by the scales of the
// manual, bent by a biased, cross-coupled factory table, and clamped at the
// ends of what the engine really does.
//
// States: b0 mired offset (at 200 mired, in proportion), b1 mired gain, b2 mired
// per full tint, g0 Duv offset, g1 tint gain, g2 Duv per 100 mired, and the
// clamps: mired low and high, Duv low and high.
type cctLaw struct {
	s              *CCTSpec
	scale          law.CCT
	mc, fs         float64 // middle mired, full tint
	ml, mh, dl, dh float64 // nominal ends within the allowed codes
}

func newCCTLaw(s *Spec) *cctLaw {
	ch := s.Channels[s.CCT.Channel]
	c := &cctLaw{s: s.CCT, scale: s.CCT.Scale}
	c.scale.Range = s.Scale(s.CCT.Channel)
	a := c.scale.MiredOf(s.Drive(s.CCT.Channel, ch.Lo))
	b := c.scale.MiredOf(s.Drive(s.CCT.Channel, ch.Hi))
	c.ml, c.mh = min(a, b), max(a, b)
	c.mc = (c.ml + c.mh) / 2
	if s.CCT.Tint >= 0 {
		t := s.Channels[s.CCT.Tint]
		p := s.CCT.TintScale.DuvOf(s.Drive(s.CCT.Tint, t.Lo))
		q := s.CCT.TintScale.DuvOf(s.Drive(s.CCT.Tint, t.Hi))
		c.dl, c.dh = min(p, q), max(p, q)
	}
	c.fs = max(c.dh, -c.dl, leastTint)
	return c
}

func (c *cctLaw) detents(lo, hi float64) (mids []float64) {
	for _, s := range c.scale.Steps {
		a, b := max(c.scale.Fraction(s.Lo), lo), min(c.scale.Fraction(s.Hi), hi)
		if a <= b {
			mids = append(mids, (a+b)/2)
		}
	}
	return mids
}

func (c *cctLaw) narrow(_, _ *[2]float64) {}

// shared: the table's own errors; the clamps belong to one unit.
func (c *cctLaw) shared() int { return len(cctScatter) }

func (c *cctLaw) states() int   { return 10 }
func (c *cctLaw) variants() int { return 1 }

func (c *cctLaw) channels() []int {
	if c.s.Tint < 0 {
		return []int{c.s.Channel}
	}
	return []int{c.s.Channel, c.s.Tint}
}

func (c *cctLaw) at(_ int, x []float64, a, b float64) (u, v float64) {
	m, t := c.scale.MiredOf(a), 0.0
	if c.s.Tint >= 0 {
		t = c.s.TintScale.DuvOf(b) / c.fs
	}
	mm := m + x[0]*m/200 + x[1]*(m-c.mc) + x[2]*t
	dd := c.fs*t*(1+x[4]) + x[3] + x[5]*(m-c.mc)/100
	mm = softClamp(mm, x[6], x[7], cornerMired*c.mc)
	if c.s.Tint >= 0 {
		dd = softClamp(dd, x[8], x[9], cornerDuv)
	}
	return offLocus(mm, dd)
}

// bend grows towards the ends of both parameters.
func (c *cctLaw) bend(a, b float64) float64 {
	end := min(a, 1-a)
	if c.s.Tint >= 0 {
		end = min(end, min(b, 1-b))
	}
	return engineMove * (1 + endMove*math.Exp(-max(end, 0)/endWidth))
}

func (c *cctLaw) asked(a, b float64) (u, v float64) {
	if c.s.Tint < 0 {
		return offLocus(c.scale.MiredOf(a), 0)
	}
	return offLocus(c.scale.MiredOf(a), c.s.TintScale.DuvOf(b))
}

// The clamps begin at the stated ends, give or take a few per cent.
func (c *cctLaw) mean() []float64 {
	return []float64{0, 0, 0, 0, 0, 0, c.ml, c.mh, c.dl, c.dh}
}

func (c *cctLaw) sd(wide bool) []float64 {
	if wide {
		return append(cctWide[:len(cctWide):len(cctWide)], clampMiredWide*c.ml, clampMiredWide*c.mh, clampDuvWide*c.fs, clampDuvWide*c.fs)
	}
	return append(cctScatter[:len(cctScatter):len(cctScatter)], clampMired*c.ml, clampMired*c.mh, clampDuv*c.fs, clampDuv*c.fs)
}

func (c *cctLaw) bound(x []float64) {
	for i, b := range cctBounds {
		within(&x[i], b)
	}
	x[6] = num.Clamp(x[6], leastMired, c.mc)
	x[7] = num.Clamp(x[7], c.mc, mostMired)
	x[8] = num.Clamp(x[8], -mostClampDuv, -leastClampDuv)
	x[9] = num.Clamp(x[9], leastClampDuv, mostClampDuv)
}
