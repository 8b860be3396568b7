package core

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// Where a light blinks at one probe, a single change at another is the same light only where it fits what was seen of it there: a door that opens
// beside the other probe is no part of it.

// Figures of one light at two probes.
const (
	sameSize   = 4.0  // times: it may stand so much nearer to one of them
	sameColour = 0.02 // u'v', apart from the meters' scatter: its changes are of one colour at both
	sameTimes  = 2    // times for which it was seen to stand: it changes again by then
)

// sameLight tells whether a jump at a probe that is watched since a moment may be made by a light whose jumps were seen at another probe: it is about as large, of the
// same colour if that light has one, and no later than that light would have changed. Scatter is of the jump's own colour, u'v'.
func sameLight(light []scene.Jump, j scene.Jump, since time.Duration, scatter float64) bool {
	least, most, stood := math.Inf(1), 0.0, time.Duration(0)
	for i := range light {
		size := scene.Size(light[i].By)
		least, most = min(least, size), max(most, size)
		if i > 0 {
			stood = max(stood, light[i].At-light[i-1].At)
		}
	}
	size := scene.Size(j.By)
	if size > sameSize*most || sameSize*size < least || j.At-since > sameTimes*stood {
		return false
	}
	colour, has := colourOf(light)
	own, can := jumpColour(j)
	return !has || can && own.Dist(colour) <= sameColour+3*scatter
}

// colourOf is the colour of a light by its jumps, if they are of one.
func colourOf(light []scene.Jump) (colour colorcalc.UV, has bool) {
	for i := range light {
		uv, can := jumpColour(light[i])
		switch {
		case !can, i > 0 && uv.Dist(colour) > sameColour:
			return colour, false
		case i == 0:
			colour = uv
		}
	}
	return colour, len(light) > 0
}

// jumpColour is the colour of the light that came or went, if one did: of one that changes its colour alone a jump has none.
func jumpColour(j scene.Jump) (colorcalc.UV, bool) {
	by := j.By
	if by.Y < 0 {
		by = by.Scale(-1)
	}
	return by.UV(), by.X > 0 && by.Y > 0 && by.Z > 0
}

// lastTurns are the jumps that told last that a light goes on and off.
func (d *dark) lastTurns() []scene.Jump { return d.jumps[max(len(d.jumps)-fewestLights, 0):] }

// besideBlinks tells whether a light blinks at another probe, and this one is to be watched for it.
func (d *dark) besideBlinks() bool { return len(d.beside) > 0 }
