package core

import (
	"math"
	"time"

	"trueup/loop/solve"
)

// That a lamp gives no light is told against the dark, and the dark may have changed since it was read: a light there has gone out, or somebody has turned the
// probe. So the dark is read once more before that is the last word, where something speaks for it.

const (
	darkLooks = 2   // at most are made for one unit in a run because it seems to give no light
	misleads  = 0.2 // of what was read of a unit: light that is not its own, from which on it tells little of it
)

// unseen is when a unit was held since it gave no light, or for what it did, how much of another light would have misled, lux, and beside how much
// light it gave too small a share; 0: it was not held for that.
type unseen struct {
	at     time.Duration
	net    float64
	beside float64
}

// mayBeStale asks for the dark at the probe of a unit that seems to give no light, if what was read of it can not be, or it was seen to give light before, in this run or in the one that is
// verified, or if it is the reference, without which there is no run. It tells whether it did.
func (c *Core) mayBeStale(u *unit, w *weak) bool {
	d := c.background[u.Info.Probe]
	if w.coloured || d == nil || d.blinks != "" || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter || u.darkLooks >= darkLooks || c.now-d.when <= leastPause ||
		!w.odd && !(u.own.Y > 0) && !u.seenBefore && u.Info.Name != c.cfg.Plan.Target.Reference {
		return false
	}
	u.darkLooks++
	d.wanted = true
	return true
}

// unlit notes that a unit is held since it gives no light.
func (c *Core) unlit(u *unit, w *weak) {
	if w.coloured {
		return
	}
	u.unseen = &unseen{at: c.now, net: w.net}
	if d := c.background[u.Info.Probe]; d != nil {
		u.unseen.beside = d.Mean().Y
	}
}

// mayBeWronglyHeld notes that a unit is held for what its light did: beside a light that had just come that looks like a lamp that does not answer.
func (c *Core) mayBeWronglyHeld(u *unit, d solve.Decision) {
	if l := u.tally.last; d.Outcome == solve.Held && l != nil && u.unseen == nil {
		u.unseen = &unseen{at: c.now, net: misleads * l.Lux}
	}
}

// notUnlit has units visited again that were held for what was seen of them, if the background that was taken off has jumped by
// more than was left of them, and by what may have hid the light of a lamp as they are here, or if the light beside which they gave too little has gone since.
func (c *Core) notUnlit(probe string, since time.Duration, by float64) {
	faintest := c.background[probe].faintest(c).Y
	for _, u := range c.units {
		n := u.unseen
		if n == nil || u.Info.Probe != probe || u.visitedAgain {
			continue
		}
		if misled, gone := n.at >= since && math.Abs(by) > math.Abs(n.net) && n.net+math.Abs(by) > misleads*faintest, n.beside > 0 && -by > n.beside/2; misled || gone {
			u.again, u.visitedAgain = true, true // once: a lamp that somebody else drives would be for ever
		}
	}
}

// wronglyHeld are the visits to units that were held against a dark that was stale.
func (c *Core) wronglyHeld() (all []task) {
	for _, u := range c.units {
		if u.again && c.ours(u) {
			u.again, u.unseen = false, nil
			u.tally.kept, u.tally.last = 0, nil // what was read against that dark decides nothing
			u.forget()
			all = append(all, &firstVisit{u: u})
		}
	}
	return all
}
