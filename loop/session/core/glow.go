package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// A lamp that takes seconds to come takes seconds to go, and one of a type may be slower than the others, by a menu of its own. Its glow is in the first readings of
// the dark after it: they fall, ever less, to a light that stands. A light that is switched off is gone from one reading to the next, and a sky
// goes on as it went.
//
// All that is asked of a glow stands here. The questions are four, by what else may fall at that moment:
//   - standing: which of the readings are the dark? Before a dark is known whatever falls is waited for. Beside a known one a light of the room may fall as well: the shape,
//     size and colour must be those of the lamp that went out, or what is left the dark that was known. What falls ever less right after a lamp went out of which neither is
//     known is left out as well: what it falls to tells whether the room has changed.
//   - afterGlow: does the level of a light swing? A sky falls as lamps do for some time, so that the fall itself is left out, and what follows tells.
//   - withoutGlow: does its hue go on, and how? Such a light has no level that a glow's shape could be told from; only the time in which a lamp may glow on is left. A
//     reading that is left out by mistake is not missed: such a passage is of seconds.
//   - glowsOn: has a light gone out, although the next reading is lower yet? That is asked of two readings, beside a fall that is far larger than a glow.

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

	glowFor   = 2 * time.Second // a lamp of which no dead time is known may glow on beside a light that moves,
	glowTimes = 2               // and dead times for which another may: within one most of its light has gone
	glowLeft  = 0.2             // of what it falls: by no more does a light go that stands afterwards

	goneTo   = 0.5 // of a background: a light has gone out that left no more,
	glowPart = 0.1 // of its fall, by which it falls on while lamps glow
)

// ebb are two readings or more of a dark passage, all of which tell a level: as a glow may fall in them.
type ebb struct {
	got   []Reading
	lux   []float64 // of each
	sigma float64   // standard deviation of the meter's level, as a part of it
}

// ebbOf are readings as an ebb; not ok: they are too few, or some tell no level.
func (c *Core) ebbOf(got []Reading) (e ebb, ok bool) {
	e = ebb{got: got, lux: levels(got), sigma: c.noiseOf(got).sigmaLnY()}
	return e, len(got) > 1 && len(e.lux) == len(got)
}

// seen tells whether the last reading is lower than the first by more than scatter.
func (e *ebb) seen() bool { return e.lux[0]-e.lux[len(e.lux)-1] > glowSeen*e.scatter() }

// scatter is the standard deviation of the first reading, lux.
func (e *ebb) scatter() float64 { return e.sigma * e.lux[0] }

// lasts tells whether the readings took so long that nobody waits for more of them.
func (e *ebb) lasts() bool { return e.got[len(e.got)-1].At-e.got[0].At >= glowLong }

// end is the level of the last readings, lux.
func (e *ebb) end() float64 { return median(e.lux[len(e.lux)-nextDark:]) }

// standsFrom is the first of the readings from which on all are at the level of the last ones, within scatter and some lux, or as the caller tells.
func (e *ebb) standsFrom(lux float64, or func(*Reading) bool) int {
	from, end := len(e.lux), e.end()
	for from > 0 && (math.Abs(e.lux[from-1]-end) <= glowOver*e.sigma*end+lux || or(&e.got[from-1])) {
		from--
	}
	return from
}

// lowest is the reading to which the level falls at the beginning, but for what it rises by in scatter.
func (e *ebb) lowest() (least int) {
	for i := 1; i < len(e.lux) && e.lux[i] <= e.lux[least]*(1+glowOver*e.sigma); i++ {
		if e.lux[i] < e.lux[least] {
			least = i
		}
	}
	return least
}

// standing are the readings of a dark probe from where nothing to speak of is left of a glow, all of them where there was none. More: the next reading tells.
func (c *Core) standing(probe string, d *dark, got []Reading) (rest []Reading, more bool) {
	e, ok := c.ebbOf(got)
	if !ok {
		return got, false
	}
	if d == nil {
		return c.firstStanding(&e)
	}
	n, last := len(got), c.lastOut(probe)
	if c.sweepsSomewhere() || d.swings || !e.seen() {
		return got, false
	}
	ebbs := false
	if !c.mayGlow(last, got, last.glowLeast()) && !(n > glowSteps && c.fallsBack(probe, d, got)) {
		little := last != nil && e.lux[0]-e.lux[n-1] < last.glowLeast()*last.own.Y
		if ebbs = !little && !c.cfg.Plan.HandMeter && c.justOut(probe, got); !ebbs {
			return got, false
		}
	}
	slow, slack := last != nil && last.settle >= slowGlow, 0.0
	if slow { // what is left of its light is little beside the room's
		slack = glowSlack * e.scatter()
	}
	falls := fallsFor(got, slack)
	if n <= glowSteps {
		return got, (slow || ebbs) && falls == n-1
	}
	if falls < glowSteps {
		return got, false
	}
	if first, second := e.lux[0]-e.lux[n/2], e.lux[n/2]-e.lux[n-1]; n < glowFew || second > glowLessens*first {
		return got, n < glowSure && !e.lasts()
	}
	from := e.standsFrom(0, func(r *Reading) bool { return c.slight(d, r.XYZ().Sub(got[n-1].XYZ()), slightDark) })
	if from < glowSteps || from > falls+1 || slow && !e.evenly() {
		return got, false // it was gone in less, or it did not only fall until then
	}
	return got[from:], n-from < nextDark && !e.lasts()
}

// firstStanding is standing for the first readings of a dark probe: lamps may have been lit as the run began, by the program's own start levels or by somebody, and nobody
// knows yet how much light they give, nor how long they take to go. What falls from reading to reading at first is not the dark, whatever its shape.
func (c *Core) firstStanding(e *ebb) (rest []Reading, more bool) {
	got, n := e.got, len(e.got)
	if n <= glowSteps || c.cfg.Plan.HandMeter || !e.seen() || fallsFor(got, 0) < glowSteps {
		return got, false
	}
	from := e.standsFrom(lastDigitLux, func(*Reading) bool { return false })
	if e.lasts() {
		return got[min(from, n-nextDark):], false
	}
	return got[from:], n-from < nextDark
}

// afterGlow are the readings of a passage from the least on of those with which it begins to fall, if they fall ever less, or to what the dark was known to be: as the
// light of lamps does that were just put out. A sky may do the first as well, and is seen to swing as soon as it rises again, or falls
// evenly; where a light was seen to swing or to sweep already, a fall is taken for that.
func (d *dark) afterGlow(c *Core, got []Reading) []Reading {
	e, ok := c.ebbOf(got)
	if !ok || d.swings || c.sweepsSomewhere() || !c.outLately(got[0].At) {
		return got
	}
	least := e.lowest()
	half := least / 2
	lessens := half > 0 && e.lux[least-half]-e.lux[least] <= glowLessens*(e.lux[0]-e.lux[half])
	if !lessens && !d.expected(c, &got[least]) {
		return got
	}
	return got[least:]
}

// withoutGlow are the readings of a passage from where the light falls no more, if it stands from there on: at its beginning lamps that were put
// out may glow on, in a hue that is theirs. One that falls to next to nothing, and still does at the end, is such a glow: its last reading tells most. slowest is
// the dead time of the slowest of them.
func withoutGlow(got []Reading, slowest time.Duration) []Reading {
	soon := 0
	for soon < len(got) && got[soon].At-got[0].At <= max(glowFor, glowTimes*slowest) {
		soon++
	}
	first := fallsFor(got[:soon], 0)
	if n := len(got); n > 1 && first == n-1 && got[first].Y < glowLeft*got[0].Y {
		return got[first:]
	}
	lux := levels(got[first:])
	if len(lux) < 2 || slices.Max(lux)-slices.Min(lux) > glowLeft*(got[0].Y-got[first].Y) {
		return got
	}
	return got[first:]
}

// glowsOn tells whether a background that has fallen by most of what it was falls on by next to nothing beside that, from one reading to the next: a light has
// gone out, and a lamp that was put out to see it glows on.
func glowsOn(was colorcalc.XYZ, from, to *Reading) bool {
	return from.Y < goneTo*was.Y && to.Y < from.Y && from.Y-to.Y < glowPart*(was.Y-from.Y)
}

// evenly tells whether the level falls to its end as that of a slow lamp does, at one rate from the first reading to the third: a light that is switched off as
// they begin falls faster at first. What is within scatter of the end tells nothing.
func (e *ebb) evenly() bool {
	end := e.end()
	above := func(k int) float64 { return e.lux[k] - end }
	rate := func(k int) float64 {
		return math.Log(above(k)/above(k+1)) / (e.got[k+1].At - e.got[k].At).Seconds()
	}
	return !(above(2) > glowOver*e.scatter()) || rate(0) <= glowFaster*rate(1)
}

// fallsFor is how many steps the level of readings falls from the first on, one after another, but for rises of less than slack, lux.
func fallsFor(got []Reading, slack float64) (n int) {
	for n+1 < len(got) && got[n+1].Y < got[n].Y+slack {
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
		case u.Head < 0 || u.Info.Probe != probe || u.bright || u.outAt <= 0:
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
	return c.justOut(probe, got) && !slices.ContainsFunc(got[len(got)-nextDark:], func(r Reading) bool { return !d.expected(c, &r) })
}

// justOut tells whether a lamp of the probe had just gone out when the dark began.
func (c *Core) justOut(probe string, got []Reading) bool {
	began := got[0].At - got[0].Integration
	return slices.ContainsFunc(c.units, func(u *unit) bool {
		return u.Info.Probe == probe && u.outAt > 0 && !u.bright && began <= u.outAt+u.settle+time.Second
	})
}

// outLately tells whether a lamp that was put out not long before a moment may still have glowed then.
func (c *Core) outLately(at time.Duration) bool {
	return slices.ContainsFunc(c.units, func(u *unit) bool { return u.outAt > 0 && at-u.outAt <= u.settle+glowLong })
}

// expected tells whether a reading is as the dark was known to be.
func (d *dark) expected(c *Core, r *Reading) bool {
	return d.Off(r.XYZ(), c.meter(d.probe), r.At) <= jumpAt
}

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
	if i == 0 || i > fallsFor(got, 0)+1 || took <= last.settle || took > mostWait {
		return
	}
	last.slower = slower{seen: true, sure: true}
	last.waitsFor(took)
	c.enter(Entry{Kind: KindSettle, Fixture: last.Info.Name, Note: fmt.Sprintf("its light still fell %d ms after it had been put out: it is waited for so long from now on", took/time.Millisecond)})
}
