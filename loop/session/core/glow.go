package core

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// A lamp that takes seconds to come takes seconds to go, and one of a type may be slower than the others, by a menu of its own. Its glow is in the first readings of
// the dark after it: they fall, ever less, to a light that stands. A light that is switched off is gone from one reading to the next, and a sky
// goes on as it went.

// Figures of a glow in the dark.
const (
	glowSeen    = 10.0             // standard deviations of the meter's level that it falls at the least
	glowSteps   = 3                // readings in which it does, at the least
	glowLessens = 0.6              // of the fall of the first half of the readings, that the second falls at the most
	glowFew     = 5                // readings that may tell it,
	glowSure    = 8                // and surely
	glowOver    = 4.0              // standard deviations from the last level, within which it is gone,
	glowOwn     = 0.003            // and the part of a lamp's own light, below which nobody waits for it
	glowFaster  = 2.5              // times as fast as a little later it may fall at first
	glowSlack   = 2.0              // standard deviations that a slow lamp's may rise by from one reading to the next
	glowMuch    = 0.05             // of that, from which on it is not the glow of another lamp,
	glowHue     = 0.03             // and by how far its colour may be another, u'v': a lamp that fades changes its mixture
	glowLong    = 10 * time.Second // for which it is waited
)

// standing are the readings of a dark probe from where nothing to speak of is left of a glow, all of them where there was none. More: the next reading tells.
func (c *Core) standing(probe string, d *dark, got []Reading) (rest []Reading, more bool) {
	if d == nil {
		return c.firstStanding(got)
	}
	n, last := len(got), c.lastOut(probe)
	lux := levels(got)
	if n < 2 || len(lux) < n || c.sweepsSomewhere() || d.swings || !c.mayGlow(last, got, last.glowLeast()) && !(n > glowSteps && c.fallsBack(probe, d, got)) {
		return got, false
	}
	sd, slow := c.noise.sigmaLnY()*lux[0], last != nil && last.settle >= slowGlow
	if !(lux[0]-lux[n-1] > glowSeen*sd) {
		return got, false
	}
	slack := 0.0
	if slow { // what is left of its light is little beside the room's
		slack = glowSlack * sd
	}
	falls := fallsFor(lux, slack)
	if n <= glowSteps {
		return got, slow && falls == n-1
	}
	if falls < glowSteps {
		return got, false
	}
	long := got[n-1].At-got[0].At >= glowLong
	if first, second := lux[0]-lux[n/2], lux[n/2]-lux[n-1]; n < glowFew || second > glowLessens*first {
		return got, n < glowSure && !long
	}
	end := median(lux[n-nextDark:])
	from := n
	for from > 0 && (math.Abs(lux[from-1]-end) <= glowOver*c.noise.sigmaLnY()*end || c.slight(d, got[from-1].XYZ().Sub(got[n-1].XYZ()), slightDark)) {
		from--
	}
	if from < glowSteps || from > falls+1 || slow && !evenly(got, end, glowOver*sd) {
		return got, false // it was gone in less, or it did not only fall until then
	}
	return got[from:], n-from < nextDark && !long
}

// firstStanding is standing for the first readings of a dark probe: lamps may have been lit as the run began, by the program's own start levels or by somebody, and nobody
// knows yet how much light they give, nor how long they take to go. What falls from reading to reading at first is not the dark, whatever its shape.
func (c *Core) firstStanding(got []Reading) (rest []Reading, more bool) {
	n := len(got)
	lux := levels(got)
	if n <= glowSteps || len(lux) < n || c.cfg.Plan.HandMeter || !(lux[0]-lux[n-1] > glowSeen*c.noise.sigmaLnY()*lux[0]) || fallsFor(lux, 0) < glowSteps {
		return got, false
	}
	end, from := median(lux[n-nextDark:]), n
	for from > 0 && math.Abs(lux[from-1]-end) <= glowOver*c.noise.sigmaLnY()*end+lastDigitLux {
		from--
	}
	if got[n-1].At-got[0].At >= glowLong {
		return got[min(from, n-nextDark):], false
	}
	return got[from:], n-from < nextDark
}

// evenly tells whether the light of some readings falls to an end as that of a slow lamp does, at one rate from the first to the third: a light that is switched off as
// they begin falls faster at first. What is less than least above the end tells nothing.
func evenly(got []Reading, end, least float64) bool {
	above := func(k int) float64 { return got[k].Y - end }
	rate := func(k int) float64 {
		return math.Log(above(k)/above(k+1)) / (got[k+1].At - got[k].At).Seconds()
	}
	return !(above(2) > least) || rate(0) <= glowFaster*rate(1)
}

// fallsFor is how many steps a level falls from the first on, one after another, but for rises of less than slack, lux.
func fallsFor(lux []float64, slack float64) (n int) {
	for n+1 < len(lux) && lux[n+1] < lux[n]+slack {
		n++
	}
	return n
}

// glowLeast is the part of a unit's light from which on what the dark begins with may be its glow. A lamp that is known to be slow has some of its light left
// when it is taken to be dark.
func (u *unit) glowLeast() float64 {
	if u != nil && u.settle >= slowGlow {
		return glowOwn
	}
	return glowMuch
}

// lastOut is the unit that was put out last at a probe; nil where it was one of several.
func (c *Core) lastOut(probe string) (last *unit) {
	alone := true
	for _, u := range c.units {
		switch {
		case u.Head < 0 || u.Info.Probe != probe || u.bright || u.outAt == 0:
		case last == nil || u.outAt > last.outAt+u.settle:
			last, alone = u, true
		case u.outAt+u.settle >= last.outAt:
			alone = false
		}
	}
	if !alone {
		return nil
	}
	return last
}

// mayGlow tells whether what the dark began with may be the glow of a unit: it had just gone out, and it is that part of its light at the least, in its
// colour where it is much of it.
func (c *Core) mayGlow(u *unit, got []Reading, least float64) bool {
	if u == nil || !(u.own.Y > 0) || got[0].At-got[0].Integration > u.outAt+u.settle+time.Second {
		return false
	}
	glow := got[0].XYZ().Sub(got[len(got)-1].XYZ())
	return glow.Y >= least*u.own.Y && (glow.Y < glowMuch*u.own.Y || glow.XY().Valid() && glow.UV().Dist(u.own.UV()) <= glowHue)
}

// fallsBack tells whether a lamp of the probe had just gone out when the dark began, and its last readings are as it was known: what fell to that, of whatever colour,
// is no light of the room. Which lamp it was, and how bright, need not be known.
func (c *Core) fallsBack(probe string, d *dark, got []Reading) bool {
	began := got[0].At - got[0].Integration
	return slices.ContainsFunc(c.units, func(u *unit) bool {
		return u.Info.Probe == probe && u.outAt > 0 && !u.bright && began <= u.outAt+u.settle+time.Second
	}) && !slices.ContainsFunc(got[len(got)-nextDark:], func(r Reading) bool { return !d.expected(c, &r) })
}

// expected tells whether a reading is as the dark was known to be.
func (d *dark) expected(c *Core, r *Reading) bool { return d.Off(r.XYZ(), c.meter(), r.At) <= jumpAt }

// glowed takes in that the dark at a probe, of which these are all readings, began with the glow of the lamp that went out last there.
func (c *Core) glowed(probe string, got []Reading) {
	last := c.lastOut(probe)
	if !c.mayGlow(last, got, glowMuch) {
		return
	}
	end, i := got[len(got)-1].Y, 0
	for got[i].Y-end > glowOwn*last.own.Y {
		i++
	}
	took := got[i].At - got[i].Integration - last.outAt
	if i == 0 || i > fallsFor(levels(got), 0)+1 || took <= last.settle || took > mostWait {
		return
	}
	last.slower = slower{seen: true, sure: true}
	last.waitsFor(took)
	c.enter(Entry{Kind: KindSettle, Fixture: last.Info.Name, Note: fmt.Sprintf("its light still fell %d ms after it had been put out: it is waited for so long from now on", took/time.Millisecond)})
}
