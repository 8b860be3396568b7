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
	p := passings(room, jumps)
	under := p.under > 0
	if len(p.kept) > p.under {
		return false, false
	}
	passed := d.shades.lately(c.now) + p.passed
	if under {
		passed++
	}
	switch {
	case passed > mostShades || under && c.now-p.kept[0].At > shadeFor:
		return false, false
	case under || len(rest) < nextDark:
		return false, true
	}
	left := meanXYZ(withoutFar(rest, c.noiseOf(rest).sigmaUV())).Sub(room)
	is = scene.Size(left) <= shadeWalk*p.took || !c.tooMuch(d.faintest(c), []scene.Jump{{By: left}})
	return is, !is && len(rest) < mostDark
}

// passers are when somebody passed by, of late.
type passers []time.Duration

// pass keeps that somebody has by now; those too long ago to count are forgotten.
func (p *passers) pass(now time.Duration) {
	*p = append(slices.DeleteFunc(*p, func(at time.Duration) bool { return now-at > shadesIn }), now)
}

// lately is how many have.
func (p passers) lately(now time.Duration) (n int) {
	for _, at := range p {
		if now-at <= shadesIn {
			n++
		}
	}
	return n
}

// sequel is what jumps are without the shades that passed between them.
type sequel struct {
	kept   []scene.Jump // the others, and at their end
	under  int          // those of a shade that has not gone yet, as it seems
	passed int          // shades
	took   float64      // at the most, by one of them
}

// passings takes the shades out of jumps that follow one another, the first of them from a light of the room that is known: whatever that has become in between, a
// shade takes a part of what is there and gives it back.
func passings(room colorcalc.XYZ, all []scene.Jump) (p sequel) {
	for len(all) > 0 {
		n, back, took := shadeOf(room, all)
		switch {
		case back:
			p.passed, p.took = p.passed+1, max(p.took, took)
		case n == len(all):
			p.kept, p.under, p.took = append(p.kept, all...), n, max(p.took, took)
		default:
			n, p.kept = 1, append(p.kept, all[0])
		}
		for _, j := range all[:n] {
			room = room.Add(j.By)
		}
		all = all[n:]
	}
	return p
}

// shadeOf is how many of the first jumps are those of one shade over a light of the room, whether it has given back what it took, and how much that was at the most.
func shadeOf(room colorcalc.XYZ, all []scene.Jump) (n int, back bool, took float64) {
	var by, most colorcalc.XYZ
	for i, j := range all {
		by = by.Add(j.By)
		switch back = i > 0 && scene.Gone(by, most); {
		case j.At-all[0].At > shadeFor || !back && !shades(room, room.Add(by)):
			return i, false, scene.Size(most)
		case back:
			return i + 1, true, scene.Size(most)
		}
		if scene.Size(by) > scene.Size(most) {
			most = by
		}
	}
	return len(all), false, scene.Size(most)
}

// shades tells whether a light may be a room's with somebody between it and the meter.
func shades(room, now colorcalc.XYZ) bool {
	return now.Y < room.Y && now.Y >= (1-mostShade)*room.Y && now.UV().Dist(room.UV()) <= shadeTint
}
