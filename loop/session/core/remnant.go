package core

import (
	"fmt"
	"math"

	"trueup/loop/solve"
)

// A lamp that gives no light, at a wrong address or without power, is told by its probe's dark reading. But a meter that remembers, or one that
// changes its range, may still show part of the lamp that went out before it, which has the colour of the target: such a lamp was landed on two
// readings of that kind, one a visit. So the first reading of a unit that looks like what is left of another counts only once the next one shows as
// much light. What is left of a fade is less each time.

// Figures of what may be left of a lamp.
const (
	remnantShare  = 0.5 // of its light, at the most
	remnantColour = 2.0 // tolerances, that its colour may be off beside the noise
)

// netOf is net of a reading of a unit, and looks whether it may be what is left of the lamp before.
func (c *Core) netOf(u *unit, r *Reading) (solve.Reading, *weak) {
	out, w := c.net(r)
	if w == nil && !u.shown {
		w = c.remnant(u, &out)
	}
	return out, w
}

// remnant says of the reading of a unit whose own light was not seen yet if it may be what is left of another's; nil: it is its own.
func (c *Core) remnant(u *unit, net *solve.Reading) *weak {
	var before *unit // that gave most light
	for _, o := range u.fading.gone {
		if o.Info.Probe == u.Info.Probe && o.own.Y > 0 && (before == nil || o.own.Y > before.own.Y) {
			before = o
		}
	}
	agrees := u.faint > 0 && u.faintAt == u.at.At && net.Y > 0 && math.Log(net.Y/u.faint) >= -3.5*math.Sqrt2*net.SigmaLnY // one that comes up is no remnant
	if before == nil || !net.HasY || agrees || net.Y >= remnantShare*before.own.Y ||
		min(net.UV.Dist(before.own.UV()), net.UV.Dist(c.goesOutAs(before))) > remnantColour*c.cfg.Plan.Tolerance+3*net.SigmaUV {
		u.shown = true
		return nil
	}
	u.faint, u.faintAt, u.fading.early = net.Y, u.at.At, 0 // the next one begins when all light should stand
	return &weak{net: net.Y, why: fmt.Sprintf("%.2f lux of the colour of %s, which went out before it: it may be what is left of that", net.Y, before.Info.Name)}
}
