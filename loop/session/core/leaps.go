package core

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A light that somebody puts on and out again between two passages is met by no passage, and whatever is read beside it lies. Where a unit has hardly
// moved since it was read last its level is foretold well: one that is far from that asks for the dark at once, before anything is claimed, however
// dark it was there before. The lamp may have changed by itself as well: the dark is as it was then, and after some such looks
// a level has to leap farther.

// Figures of a level that leaps.
const (
	leapLeast  = 0.025 // of the level, ln: a light that is less moves a lamp by no more than a part of the tolerance,
	leapNoise  = 4.0   // standard deviations of the meter's level
	leapSD     = 1.5   // and of what was foretold: at small steps that came true within a third of its standard deviation in the median, nine in ten within 0.02
	leapKnown  = 0.06  // a level that is foretold no better tells nothing
	leapStep   = 0.1   // of the scale of any parameter, since the reading before: over more the model may be off
	leapFar    = 0.2   // after a larger step, or by an early reading, whose level is known less well: models err by less in most cases
	leapBack   = 0.25  // of a leap, by which another that takes it back may miss
	leapBright = 0.25  // by which a level has to leap at the most, whatever other lamps have done by themselves
	leapSame   = 0.015 // by which a level comes again at the same setting, ln
	leapsVain  = 2     // looks that found nothing, of a lamp or of a run, from which on a level has to leap farther than those did,
	leapGone   = 0.06  // by which a level falls, ln, that tells of a light which went: lamps fall by less of themselves
	leapBeyond = 1.5   // by this factor
)

// passerStays is for how long somebody may stand in a beam: what is read of a lamp that has lost light for no reason waits for so long.
const passerStays = 6 * time.Second

// leap is a level of a unit that was not foretold, and for which the dark was not read yet.
type leap struct {
	by    float64       // ln of the level read, less what was foretold; 0: none
	since time.Duration // the reading before
	alone bool          // by one reading, which the estimate has set aside: it may be an outlier
}

// levelRead is what a unit's next level is held against.
type levelRead struct {
	at     time.Duration // its end
	stands time.Duration // since when the unit stood at its setting
	lux    float64
	uv     colorcalc.UV
	sd     float64 // of uv, per axis
	lnSD   float64 // of the level, ln
	set    solve.Drive
	again  bool // it was read there before
	early  bool // it began before all light stood
	far    bool // after a large step: how the level goes on from there is not known yet
	wild   bool // the estimate has set it aside
}

// ownLeap is one of a unit that no light explains.
type ownLeap struct {
	of *unit
	by float64 // ln
}

// cameBack takes in a leap of a unit that no light explains, and tells whether it takes back the one before: somebody has passed through
// the beam, or a light has come and gone between two looks. Neither is of the lamp, and lets no other lamp leap farther.
func (c *Core) cameBack(u *unit, by float64) bool {
	u.vain, u.mostVain = u.vain+1, max(u.mostVain, math.Abs(by))
	for i, l := range c.ownLeaps {
		if l.of == u && math.Abs(l.by+by) < leapBack*math.Abs(by) {
			c.ownLeaps = slices.Delete(c.ownLeaps, i, i+1)
			return true
		}
	}
	c.ownLeaps = append(c.ownLeaps, ownLeap{u, by})
	return false
}

// leastLeap is how far a level of a unit has to leap, ln, after what lamps have done by themselves: farther than its own did, and
// than those of others, but for a light so bright that none of them explains it.
func (c *Core) leastLeap(u *unit) (least float64) {
	if len(c.ownLeaps) >= leapsVain {
		for _, l := range c.ownLeaps {
			least = max(least, leapBeyond*math.Abs(l.by))
		}
	}
	if c.slowest() < slowGlow { // a lamp that is slow to come changes its level by as much
		least = min(least, leapBright)
	}
	if u.vain >= leapsVain {
		least = max(least, leapBeyond*u.mostVain)
	}
	return least
}

// foretold looks whether the level of a unit's last reading was. If not the dark is asked for.
func (c *Core) foretold(u *unit, a *solve.Account) {
	d, last, before := c.background[u.Info.Probe], u.tally.last, u.levelRead
	if last == nil || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter || a.Verdict == solve.Refused || a.Verdict == solve.Stale {
		return
	}
	u.levelRead = levelRead{at: u.read, stands: u.at.At, lux: last.Lux, uv: last.UV, sd: last.SD, lnSD: u.lnSD, set: slices.Clone(u.at.Sent),
		again: before.stands == u.at.At, early: u.early, wild: a.Verdict == solve.Outlier, far: !u.near(before.set)}
	c.onItsWay(u, u.earlier(&before))
	if a.Cause.Elsewhere() { // no level of such a lamp is as foretold
		u.leap = leap{}
		return
	}
	if d == nil {
		return
	}
	by, sd := u.offLevel(a, &before)
	if d.blinks != "" {
		by = d.beyondChanges(by, last.Lux)
	}
	near := u.near(before.set)
	if c.commonLux != 0 && before.far && !slices.Equal(before.set, u.at.Sent) {
		near = false // it was brought to the common level just before: how its level goes on from there, by a curve that the profile may not have, one reading does not tell
	}
	switch {
	case !c.leaps(u, by, sd, near):
		if u.leap.alone {
			u.leap = leap{}
		}
	default:
		u.leap = leap{by, before.at, a.Verdict == solve.Outlier && u.leap.by == 0}
		d.wanted = d.wanted || !u.leap.alone
	}
}

// offLevel is how far the level read last is from what was foretold, ln, and how well that was: by the model, or, where it
// has begun anew, by the reading before at the same setting or near it.
func (u *unit) offLevel(a *solve.Account, before *levelRead) (by, sd float64) {
	if before.wild || !(before.lux > 0) || !(u.levelRead.lux > 0) || !u.near(before.set) {
		return a.InnovationLnY, a.LevelSD
	}
	by = math.Log(u.levelRead.lux / before.lux)
	switch {
	case a.LevelSD > 0 && (a.LevelSD <= leapKnown || math.Abs(by) < leapFar): // an early reading tells too little of its level, but that it has leapt far
		return a.InnovationLnY, a.LevelSD
	case slices.Equal(before.set, u.levelRead.set):
		return by, leapSame
	}
	return by, leapKnown
}

// leaps tells whether a level that far from what was foretold asks for the dark, after a small step or, where it is not near, after a large one.
func (c *Core) leaps(u *unit, by, sd float64, near bool) bool {
	if colorcalc.ReadingsFor(c.noiseAt(u.Info.Probe).sigmaUV(), c.cfg.Plan.Tolerance) > manyReadings {
		return false // what is claimed beside such a meter is not read again
	}
	least := max(leapLeast, leapNoise*c.noiseAt(u.Info.Probe).sigmaLnY(), leapSD*sd, c.leastLeap(u))
	if !near {
		if by < 0 && c.slowest() >= slowGlow {
			return false // a lamp that is slow to come falls short after a large step
		}
		least = max(least, leapFar)
	}
	return sd > 0 && sd <= leapKnown && math.Abs(by) > least
}

// near tells whether a unit stands within a small step of a setting.
func (u *unit) near(set solve.Drive) bool {
	if len(set) != len(u.at.Sent) {
		return false
	}
	for i, code := range set {
		if math.Abs(u.Spec.Drive(i, code)-u.Spec.Drive(i, u.at.Sent[i])) > leapStep {
			return false
		}
	}
	return true
}

// unexplained takes in that the dark of a probe is as it was before, although the level of a unit there has leapt. The lamp has changed
// by itself, or a light came or went that was not there at either passage: what was read of the unit before is not joined to what is read from here on, and
// what was claimed meanwhile is read again. A light that went may have been there for as long as since the passage before.
func (c *Core) unexplained(probe string, d *dark, before time.Duration) {
	for _, u := range c.units {
		if u.Info.Probe != probe || u.leap.by == 0 {
			continue
		}
		if u.leap.alone {
			u.leap = leap{}
			continue
		}
		back := c.cameBack(u, u.leap.by)
		for _, o := range c.units {
			if k := o.claim; k != nil && o.Info.Probe == probe && k.at >= u.leap.since {
				k.share = 1
			}
		}
		switch {
		case back && u.leap.by > 0: // what fell has risen again: somebody stood in the beam
			d.passedBy = 0
		case u.leap.by < -leapGone && !c.steady(u).restless && !c.several(): // one that came would be there still; and where there are lanes it may be another lane's lamp
			d.passedBy = c.now
			c.distrust(probe, before)
		}
		for _, l := range c.all() {
			if b := l.waiting(); b != nil && b.unit() == u {
				if b.anew = true; u.leap.by < -leapGone {
					b.until = u.levelRead.at + passerStays
				}
			}
		}
		u.leap = leap{}
		u.forget()
	}
}

// explained takes in that the background of a probe has jumped: no level that leapt there is open any more.
func (c *Core) explained(probe string) {
	for _, u := range c.units {
		if u.Info.Probe == probe {
			u.leap = leap{}
		}
	}
}
