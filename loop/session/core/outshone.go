package core

import (
	"fmt"
	"slices"

	"trueup/colorcalc"
)

// Dark lamps are sent the colour they are first lit at while the reference is read. One that takes its dimmer from another slot shines with that, and where its light reaches the
// reference's probe all later readings are of both: the more of them there are, the surer it looks. What was read before is of the reference alone.

// pure are readings of the reference before dark lamps were sent their colour, and how many of those that count came with them.
type pure struct {
	uv   []colorcalc.UV // empty: none were sent one
	till int
}

// sendsColours sends dark lamps the colour that they are first lit at, by what was read of the reference so far.
func (r *reference) sendsColours(c *Core, uv []colorcalc.UV) {
	sent := c.presetDone
	if c.presetSoon(medianUV(uv)); c.presetDone && !sent {
		r.pure = pure{uv: slices.Clone(uv), till: len(r.uv)}
	}
}

// outshone tells whether the reference is another light since dark lamps were sent their colour. All their codes go down in the dark from then on, and it is read anew.
func (r *reference) outshone(c *Core) bool {
	tail := len(r.uv) - presetFrom
	if len(r.pure.uv) == 0 || tail < r.pure.till {
		return false
	}
	off := medianUV(r.uv[tail:]).Dist(medianUV(r.pure.uv))
	if off <= max(farOff*c.noiseOfRef().sigmaUV(), c.cfg.Plan.Tolerance) {
		return false
	}
	out := false
	for _, u := range c.units {
		out = u.goesAllOut() || out
	}
	if !out {
		return false
	}
	r.pure, r.before = pure{}, nil
	r.forget(len(r.uv))
	c.enter(Entry{Kind: KindDrift, Fixture: r.u.Info.Name, Note: fmt.Sprintf("the light at %s has moved by %.4f since dark fixtures were set to the colour that they are first lit at: one of them may shine "+
		"with its dimmer down, as at a wrong address or in another mode; from now on all their codes go down in the dark, and the reference is read anew", atProbe(r.u.Info.Probe), off)})
	return true
}
