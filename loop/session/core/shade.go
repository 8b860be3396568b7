package core

import (
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// Somebody who walks by in a lit room takes a part of its light from the meter for some seconds, and gives it back: nothing has changed, and what
// was read of lamps before holds. A light that is switched on or off leaves the room in another hue, or halves what there is, or does not come back so soon.

// Figures of a shade that passes.
const (
	mostShade  = 0.45            // of the light of the room that it takes: a light that goes on doubles it, and halves it when it goes out
	shadeTint  = 0.01            // u'v', by which clothes move the rest
	shadeWalk  = 0.1             // of it, that the room may have wandered meanwhile
	shadeFor   = 8 * time.Second // that it stays at the most
	shadesIn   = time.Minute     // in which
	mostShades = 3               // pass at the most: a light that blinks comes more often
)

// shaded tells whether the jumps of a passage are one shade or more that passed, and by the rest of its readings the background is as it was before.
// Open: it may yet turn out so.
func (d *dark) shaded(c *Core, got []Reading, jumps []scene.Jump, rest []Reading) (is, open bool) {
	if len(jumps) == 0 || d.swings || d.swing(c, got, 0) { // a cloud does so too, and is not gone then
		return false, false
	}
	room := d.Mean()
	passed := 0
	for _, at := range d.shades {
		if c.now-at <= shadesIn {
			passed++
		}
	}
	var began time.Duration
	var by, most colorcalc.XYZ // what it takes, and at the most in this shade
	took, under := 0.0, false
	for _, j := range jumps {
		by = by.Add(j.By)
		switch back := under && scene.Gone(by, most); {
		case under && j.At-began > shadeFor || !back && !shades(room, room.Add(by)):
			return false, false
		case back:
			under, most = false, colorcalc.XYZ{}
		case !under:
			under, began = true, j.At
			passed++
		}
		if scene.Size(by) > scene.Size(most) {
			most = by
		}
		took = max(took, scene.Size(most))
	}
	switch {
	case passed > mostShades || under && c.now-began > shadeFor:
		return false, false
	case under || len(rest) < nextDark:
		return false, true
	}
	left := meanXYZ(withoutFar(rest, c.noise.sigmaUV())).Sub(room)
	is = scene.Size(left) <= shadeWalk*took || !c.tooMuch(d.faintest(c), []scene.Jump{{By: left}})
	return is, !is && len(rest) < mostDark
}

// shadePassed keeps that a shade passed by now; those too long ago to count are forgotten.
func (d *dark) shadePassed(now time.Duration) {
	d.shades = append(slices.DeleteFunc(d.shades, func(at time.Duration) bool { return now-at > shadesIn }), now)
}

// shades tells whether a light may be a room's with somebody between it and the meter.
func shades(room, now colorcalc.XYZ) bool {
	return now.Y < room.Y && now.Y >= (1-mostShade)*room.Y && now.UV().Dist(room.UV()) <= shadeTint
}
