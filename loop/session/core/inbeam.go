package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/loop/solve"
)

// Somebody who stands in the beam of a lamp for more than a moment takes a part of its light from the meter and colours the rest. One such reading is implausible
// to the estimate; two that agree are not, and the lamp seems to give so little that the light beside it looks too much. So where the level of a lamp is known,
// readings far below it are set aside for as long as a shade lasts: a lamp that is dimmer after that is so by itself. Once it is gone the dark is read: it may have
// been a light that went out and has come again.

// Figures of a shade in a beam.
const (
	beamShade = 0.2                    // of a lamp's light that it takes at the least: by less lamps err, and get warm,
	beamRoom  = 1.2                    // and times the light beside the lamp: less may be that light, gone out
	beamPause = 400 * time.Millisecond // between two readings meanwhile
)

// beam is a shade that lies, or has lain, in a unit's beam.
type beam struct {
	shadow
	stands time.Duration // since when the unit stood at its setting then
	first  levelRead     // its first reading
	lux    float64       // of its last one
	n      int           // readings set aside
	under  bool          // it lies there
}

// inBeam sets a reading of a unit aside that tells of somebody in its beam, and tells whether it did; match is what may know the level there, nil: none is. Looks: once
// a shade has passed the dark is looked at. Not while a unit is watched: it would be lit again for that, and may set itself then.
func (c *Core) inBeam(u *unit, match *solve.Match, raw *Reading, net *solve.Reading, looks bool) bool {
	fell := c.fallsFar(u, match, raw, net)
	b := &u.beam
	if b.stands != u.at.At {
		if b.n == 0 || !slices.Equal(b.first.set, u.at.Sent) || math.Abs(math.Log(net.Y/b.lux)) > stillNoise*net.SigmaLnY {
			*b = beam{}
		}
		b.stands = u.at.At // a look at the dark in between makes no other shade of it
	}
	rises := b.under && math.Log(net.Y/b.lux) > max(risesBy, stillNoise*net.SigmaLnY) // it comes up still, or somebody steps out
	d := c.background[raw.Probe]
	switch {
	case fell > 0 && !b.stays && !rises && (b.under || d.beams.lately(c.now) < mostShades):
		if !b.under {
			b.since, b.n = raw.At, 0
			b.first = levelRead{at: raw.At, stands: u.at.At, lux: net.Y, uv: net.UV, sd: net.SigmaUV, lnSD: net.SigmaLnY, set: slices.Clone(u.at.Sent)}
		}
		b.under, b.lux, b.n = true, net.Y, b.n+1
		if b.passes(raw.At) {
			c.setAside(u, raw, fmt.Sprintf("it gives %.0f %% less light than before: somebody may stand in its beam", 100*fell))
			return true
		}
	case d != nil && b.under && !b.stays && !(fell > 0):
		d.beams.pass(c.now)
		if b.n > 1 { // a lamp on its way up does not stand in between
			u.weakAt = u.at.At
		}
		if looks {
			c.doubt(u, true)
		}
	}
	b.under = false
	return false
}

// fallsFar is the part of the light known of a unit where it stands that a reading wants, if it is so much that neither it nor the light beside it would; 0: it is not.
func (c *Core) fallsFar(u *unit, match *solve.Match, raw *Reading, net *solve.Reading) float64 {
	d, last := c.background[raw.Probe], &u.levelRead
	if d == nil || c.cfg.Plan.HandMeter || match != nil && match.Elsewhere() || !net.HasY || !(net.Y > 0) || u.fading.early != 0 && raw.At-raw.Integration < u.fading.stands {
		return 0
	}
	lnY, sd := 0.0, math.Hypot(last.lnSD, net.SigmaLnY)
	switch same := slices.Equal(last.set, u.at.Sent); {
	case same && !last.wild && !last.early && last.lux > 0:
		lnY = math.Log(last.lux)
	case match != nil && u.near(last.set):
		at, off, known := match.ExpectLevel(u.at.Sent)
		if !known || off > leapKnown {
			return 0
		}
		lnY, sd = at, math.Hypot(off, net.SigmaLnY)
	default:
		return 0
	}
	light := math.Exp(lnY)
	if math.Log(net.Y)-lnY < math.Log1p(-beamShade)-asItWas*sd && light-net.Y > beamRoom*d.Mean().Y {
		return 1 - net.Y/light
	}
	return 0
}
