package core

import (
	"math"
	"slices"
	"time"
)

// Somebody who stands in the light of the reference, or between it and its meter, takes a part of it away and colours the rest. Readings of a later passage that
// lie below the level of the one before are set aside for as long as a shade lasts: a reference that is dimmer after that is so by itself.

// shadow is what may lie on the reference.
type shadow struct {
	since time.Duration // the first reading in it
	stays bool          // it has lasted for longer than somebody would
}

// refShade is the part of the reference's light that a shade takes at the least; scatter and warm-up take less from one passage to the next.
const refShade = 0.05

// inShade tells whether a reading of a later passage, by ln of its level, lies in a shade that may yet pass.
func (r *reference) inShade(c *Core, lnY float64, at time.Duration) bool {
	if c.cfg.Plan.HandMeter || !(lnY-c.refLnY < math.Log1p(-refShade)-asItWas*c.noise.sigmaLnY()) {
		return false
	}
	if r.shade == nil {
		r.shade = &shadow{since: at}
	}
	r.shade.stays = r.shade.stays || at-r.shade.since > shadeFor
	return !r.shade.stays
}

// middleLevel is the median of logarithms of levels; NaN where one has none.
func middleLevel(lnY []float64) float64 {
	if len(lnY) == 0 || slices.ContainsFunc(lnY, math.IsNaN) {
		return math.NaN()
	}
	return median(lnY)
}
