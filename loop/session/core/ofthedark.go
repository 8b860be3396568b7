package core

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A light that comes and goes beside a probe, as a television, lights it for a lamp that gives none: what is read with the lamp lit is then of the colour of the dark, and no
// more than what the dark itself goes up and down by. Such light is no lamp's: nothing is held against it, and the lamp is said to give none.

// darkHue is the part of the way from the dark's colour to the target's, within which a light is of the dark: a lamp that answers is about where its match sends it.
const darkHue = 0.5

// saw takes in how bright the dark of a probe was by the readings of a passage.
func (d *dark) saw(lit []Reading) {
	for i := range lit {
		y := lit[i].Y
		if d.most == 0 {
			d.least, d.most = y, y
		}
		d.least, d.most = min(d.least, y), max(d.most, y)
	}
}

// mayBe tells whether a light that was read with a lamp lit, the dark taken off, may be of the dark.
func (d *dark) mayBe(c *Core, light colorcalc.XYZ) bool {
	if c.ref == nil || !(light.Y > 0) || light.Y > d.most-d.least || !light.XY().Valid() || !d.Mean().XY().Valid() {
		return false
	}
	room := d.Mean().UV()
	return light.UV().Dist(room) <= darkHue*c.ref.UV.Dist(room)
}

// ofTheDark puts it in place of how the visit to a unit ended that its light may be the dark's, forgets that light, and tells whether it did.
func (c *Core) ofTheDark(u *unit, d *solve.Decision) bool {
	b := c.background[u.Info.Probe]
	if believed(d.Outcome) || b == nil || c.commonLux != 0 || !b.mayBe(c, u.own) {
		return false
	}
	d.Outcome, d.Cause = solve.Held, solve.NoCause
	d.Reason = fmt.Sprintf("no light to speak of: the %.3g lux read with it lit are of the colour of the light beside %s, which went from %.3g to %.3g lux with the fixtures out%s",
		u.own.Y, atProbe(u.Info.Probe), b.least, b.most, checkLight)
	c.unlit(u, &weak{net: u.own.Y})
	u.own, u.tally.last, b.light = colorcalc.XYZ{}, nil, colorcalc.XYZ{}
	for _, o := range c.units { // what the dark's doubt is held against next is a lamp's
		if light := o.lightOf(); c.background[o.Info.Probe] == b && light.Y > 0 && (!(b.light.Y > 0) || light.Y < b.light.Y) {
			b.light = light
		}
	}
	return true
}
