package core

import (
	"math"
	"slices"
	"time"
)

// Somebody who stands in the light of the reference, or between it and its meter, takes a part of it away and colours the rest. Readings of a later passage that
// lie below the level of the one before are set aside for as long as a shade lasts: a reference that is dimmer after that is so by itself.

// shadow is what may lie on the reference, or in the beam of a lamp.
type shadow struct {
	since time.Duration // the first reading in it
	stays bool          // it has lasted for longer than somebody would
}

// passes tells of a reading in it whether it may yet pass by then.
func (s *shadow) passes(at time.Duration) bool {
	s.stays = s.stays || at-s.since > shadeFor
	return !s.stays
}

// refShade is the part of the reference's light that a shade takes at the least; scatter and warm-up take less from one passage to the next.
const refShade = 0.05

// inShade tells whether a reading of a later passage lies in a shade that may yet pass, and what part of its light the reference gives in it.
func (r *reference) inShade(c *Core, raw *Reading) (part float64, is bool) {
	if !r.again || c.cfg.Plan.HandMeter || !(c.refLux > 0) || !raw.HasY && !raw.TooDark {
		return 1, false
	}
	lux := 0.0
	if !raw.TooDark {
		lux = raw.Y
		if d := c.background[raw.Probe]; d != nil && r.u.Head >= 0 {
			lux = max(lux-d.Mean().Y, 0)
		}
	}
	if lux >= (1-refShade)*c.refLux-asItWas*c.noiseAt(raw.Probe).sigmaLnY()*max(raw.Y, c.refLux) {
		return 1, false
	}
	if r.shade == nil {
		r.shade = &shadow{since: raw.At}
	}
	return lux / c.refLux, r.shade.passes(raw.At)
}

// middleLux is the median of levels, of which these are the logarithms; 0 where one is not known.
func middleLux(lnY []float64) float64 {
	if len(lnY) == 0 || slices.ContainsFunc(lnY, math.IsNaN) {
		return 0
	}
	return math.Exp(median(lnY))
}
