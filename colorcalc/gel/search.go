package gel

import (
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// search compares all sets of layers. Filters known by their spectra multiply
// the light; tristimulus values are sums over wavelength, so such a set costs
// three sums. Filters known by their shift add up in mired and in Duv, behind
// the others.
type search struct {
	lamp   *lamp
	target colorcalc.UV
	gels   []*Gel // known by their spectra
	// trans is the transmittance of each of them on nominalGrid.
	trans  [][]float64
	shifts []*Gel // known by their shift
	loss   []float64
	// bare holds, for X, Y and Z, what each wavelength of the light gives without
	// filters; where the light's spectrum is a stand-in, scaled so that their sums
	// have the chromaticity that was measured.
	bare tristimuli

	index [MaxLayers]*Gel // the set that is looked at
	found []*Gel          // the best so far
	least float64
}

// tristimuli are the parts of X, Y and Z by wavelength, on nominalGrid.
type tristimuli [3][]float64

func newSearch(l *lamp, target colorcalc.XY, list []Gel) *search {
	s := &search{lamp: l, target: target.UV()}
	flat := nominalGrid.On(func(float64) float64 { return 1 })
	for i := range list {
		g := &list[i]
		r, pass, _ := l.behind([]*Gel{g})
		if !r.finite() || !(pass > 0) {
			continue
		}
		if g.Spectrum == nil {
			s.shifts, s.loss = append(s.shifts, g), append(s.loss, -math.Log2(pass))
			continue
		}
		s.gels, s.trans = append(s.gels, g), append(s.trans, flat.Through(*g.Spectrum).Values)
	}
	one := nominalGrid.On(func(float64) float64 { return 0 })
	for i, v := range l.light.Values {
		one.Values[i] = v
		c := one.XYZ(spectrum.Deg2)
		one.Values[i] = 0
		s.bare[0] = append(s.bare[0], c.X*math.Exp(l.offset.p))
		s.bare[1] = append(s.bare[1], c.Y)
		s.bare[2] = append(s.bare[2], c.Z*math.Exp(l.offset.q))
	}
	return s
}

// best is the set of n filters that costs least; nil where there is none.
func (s *search) best(n int) []*Gel {
	s.found, s.least = nil, math.Inf(1)
	behind := [MaxLayers + 1]tristimuli{s.bare} // by number of layers
	for d := 1; d < n; d++ {
		for c := range 3 {
			behind[d][c] = make([]float64, nominalGrid.N)
		}
	}
	s.spectra(n, 0, 0, &behind)
	return s.found
}

// spectra walks all sets of filters with spectra that begin with the depth
// filters in index, and lets filters known by their shift follow.
func (s *search) spectra(n, depth, from int, behind *[MaxLayers + 1]tristimuli) {
	lit := &behind[depth]
	if len(s.shifts) > 0 {
		s.behindSpectra(n, depth, lit)
	}
	for i := from; i < len(s.gels); i++ {
		s.index[depth] = s.gels[i]
		t := s.trans[i]
		if depth == n-1 {
			s.last(n, lit, t)
			continue
		}
		for c := range 3 {
			for k, v := range lit[c] {
				behind[depth+1][c][k] = v * t[k]
			}
		}
		s.spectra(n, depth+1, i, behind)
	}
}

// brighter is what a noisy filter that passes a little more than all can win, in
// units of the cost.
const brighter = 0.001

// last judges a set whose last filter has the transmittance t.
func (s *search) last(n int, lit *tristimuli, t []float64) {
	var x, y, z float64
	lx, ly, lz := lit[0][:len(t)], lit[1][:len(t)], lit[2][:len(t)]
	for k, v := range t {
		x += lx[k] * v
		y += ly[k] * v
		z += lz[k] * v
	}
	sum := x + 15*y + 3*z // CIE 15: u' = 4X/sum, v' = 9Y/sum
	if !(sum > 0 && y > 0) {
		return
	}
	d := math.Hypot(4*x/sum-s.target.U, 9*y/sum-s.target.V)
	if d-brighter < s.least {
		s.judge(n, d-PerStop*math.Log2(y/s.lamp.xyz.Y))
	}
}

// behindSpectra walks all sets that have the depth filters of index, and
// filters known by their shift behind them.
func (s *search) behindSpectra(n, depth int, lit *tristimuli) {
	var c colorcalc.XYZ
	for k := range lit[0] {
		c.X, c.Y, c.Z = c.X+lit[0][k], c.Y+lit[1][k], c.Z+lit[2][k]
	}
	t, d, err := colorcalc.CCT(c.XY())
	if err != nil || !(c.Y > 0) {
		return // shifts say nothing of a light without a colour temperature
	}
	s.shift(n, depth, 0, t.Mired(), d, -math.Log2(c.Y/s.lamp.xyz.Y))
}

// shift walks all sets of filters known by their shift; so far the light is at m
// and d, and has lost so many stops.
func (s *search) shift(n, depth, from int, m colorcalc.Mired, d colorcalc.Duv, stops float64) {
	if depth == n {
		if xy, err := colorcalc.White(m.Kelvin(), d); err == nil {
			s.judge(n, xy.UV().Dist(s.target)+PerStop*stops)
		}
		return
	}
	for i := from; i < len(s.shifts); i++ {
		g := s.shifts[i]
		s.index[depth] = g
		s.shift(n, depth+1, i, m+g.Mired, d+g.Duv, stops+s.loss[i])
	}
}

// judge keeps the set in index where it costs less than all before.
func (s *search) judge(n int, cost float64) {
	if cost < s.least {
		s.least = cost
		s.found = append(s.found[:0], s.index[:n]...)
	}
}
