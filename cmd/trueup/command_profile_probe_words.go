package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/profiles"
	"trueup/profiles/law"
)

// probed is one emitter, alone, at rising drives.
type probed struct {
	emitter *profiles.Emitter
	points  []probedPoint
	light   *spectrum.Spectrum // at the highest drive, the background taken off; nil: no spectrometer read it
}

// probedPoint is a drive (share of the emitter's range) and its light, the
// background taken off.
type probedPoint struct {
	drive float64
	light colorcalc.XYZ
}

// minProbeLux is the least light of an emitter, over the background, that says
// anything of its colour.
const minProbeLux = 0.5

// top is the light at the highest drive.
func (p probed) top() colorcalc.XYZ { return p.points[len(p.points)-1].light }

func (p probed) dark() bool {
	return !(p.top().Y >= minProbeLux) || !p.top().XY().Valid()
}

// exponent is the power of the drive that the light follows, by least squares
// of ln light over ln drive; NaN where there is too little light.
func (p probed) exponent() float64 {
	var n, sx, sy, sxx, sxy float64
	for _, q := range p.points {
		if q.drive <= 0 || q.light.Y <= 0 {
			continue
		}
		x, y := math.Log(q.drive), math.Log(q.light.Y)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	d := n*sxx - sx*sx
	if n < 2 || d < 1e-9 {
		return math.NaN()
	}
	return (n*sxy - sx*sy) / d
}

// misfit is how far the light strays from a law whose scale is free: the
// standard deviation of the ln of their ratio. NaN with fewer than two points.
func (p probed) misfit(c law.Curve) float64 {
	var n, sum, sq float64
	for _, q := range p.points {
		if q.drive <= 0 || q.light.Y <= 0 {
			continue
		}
		r := math.Log(q.light.Y / c.Light(q.drive))
		n, sum, sq = n+1, sum+r, sq+r*r
	}
	if n < 2 {
		return math.NaN()
	}
	return math.Sqrt(max(0, sq/n-sum*sum/n/n))
}

// lawMisfit is how far the light may stray from a law that is named: a meter's
// noise, and a lamp's own ways.
const lawMisfit = 0.05

// curve names the law that fits best of those that a profile can name without a
// figure, or else a gamma.
func (p probed) curve() string {
	best, least := "", lawMisfit
	for _, l := range law.Laws {
		if l == law.Unknown {
			continue
		}
		if m := p.misfit(law.Curve{Law: l}); m < least {
			best, least = l.String(), m
		}
	}
	if k := p.exponent(); best == "" && k >= 0.3 && k <= 5 { // what a profile may say
		best = "{gamma: " + strconv.FormatFloat(k, 'f', 1, 64) + "}"
	}
	return best
}

// words says what was seen, on one line.
func (p probed) words() string {
	if p.dark() {
		return fmt.Sprintf("no light to speak of (%.2f lux)", p.top().Y)
	}
	xy := p.top().XY()
	s := fmt.Sprintf("x %.4f, y %.4f, %.1f lux at %.0f %%", xy.X, xy.Y, p.top().Y, 100*p.points[len(p.points)-1].drive)
	if c := p.curve(); c != "" {
		s += ", light follows the level as " + strings.Trim(strings.Replace(c, ": ", " ", 1), "{}")
	}
	return s
}

// looksLike finds the emitter of the mode whose nominal colour is nearest to
// what was seen.
func (p probed) looksLike(all []profiles.Emitter) *profiles.Emitter {
	best, near := p.emitter, math.Inf(1)
	for i := range all {
		if d := all[i].UV.Dist(p.top().UV()); d < near {
			best, near = &all[i], d
		}
	}
	return best
}

// report says what to write into the profile, and what does not fit it.
func (p *emitterProbe) report(w io.Writer) {
	fmt.Fprintf(w, "\nfor the profile, mode %s (chromaticity and curve measured, flux in lux at the probe at equal levels):\n    emitters:\n", p.mode.Name)
	for _, e := range p.found {
		slots := strings.ReplaceAll(strings.Trim(fmt.Sprint(e.emitter.Slots), "[]"), " ", ", ")
		if e.dark() {
			fmt.Fprintf(w, "      # slots %s: no light; %s as it was\n", slots, e.emitter.Name)
			continue
		}
		xy := e.top().XY()
		colour := fmt.Sprintf("xy: [%.4f, %.4f]", xy.X, xy.Y)
		if p.file != "" && e.light != nil {
			colour += ", spectrum: " + filepath.Base(p.file)
		}
		line := fmt.Sprintf("{name: %s, slots: [%s], %s, uncertainty: 0.003, flux: %.4g", e.emitter.Name, slots, colour, e.top().Y)
		if c := e.curve(); c != "" {
			line += ", curve: " + c
		}
		fmt.Fprintf(w, "      - %s}\n", line)
	}
	for _, e := range p.found {
		if e.dark() {
			fmt.Fprintf(w, "%s gives no light: check the slot, the mode that is set at the fixture, and what the probe looks at\n", e.emitter.Name)
			continue
		}
		off := e.emitter.UV.Dist(e.top().UV())
		if like := e.looksLike(p.mode.Emitters); like != e.emitter && off > 4*e.emitter.SigmaUV {
			fmt.Fprintf(w, "%s looks like %s: are the two slots exchanged, or is another mode set at the fixture?\n", e.emitter.Name, like.Name)
		} else if off > 4*e.emitter.SigmaUV {
			fmt.Fprintf(w, "%s is %.3f in u'v' off what the profile says of it\n", e.emitter.Name, off)
		}
	}
}
