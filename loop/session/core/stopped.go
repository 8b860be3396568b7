package core

import (
	"fmt"
	"slices"

	"trueup/loop/scene"
	"trueup/loop/solve"
)

// A run that is stopped leaves no time to read again what no longer holds. What was claimed of such a lamp is taken back then, as the proof takes
// it back at the end of a run: a person who stops a run goes to work with what it says.

// notReadAgain is why nothing is claimed of a lamp that was to be read again.
const notReadAgain = "the run was stopped before it was read again, and background or reference have moved since it was read"

// takeBack takes back what was claimed of landed units and does not hold, as the run is stopped. The claim itself is kept: a run that is
// resumed reads the unit again for it.
func (c *Core) takeBack() {
	if c.cfg.Work != Match {
		return
	}
	c.each(func(u *unit) {
		k := u.claim
		if k == nil || !u.outcome.Landed() {
			return
		}
		switch {
		case c.holds(k) < keepAt || c.leftOpen(u):
			c.doubtful(u, notReadAgain)
		case c.readOtherwise(u):
			u.outcome = c.outcomeOf(u, solve.Decision{Outcome: solve.Unsettled,
				Reason: fmt.Sprintf("the run was stopped while it was read again: %.4f off when it was read last, and nothing is claimed of it", u.tally.last.Delta)})
			c.enter(Entry{Kind: KindVerify, Fixture: u.Info.Name, Outcome: u.outcome})
		}
	})
}

// doubtful enters that what was claimed of a unit is not known to hold, and why.
func (c *Core) doubtful(u *unit, why string) {
	ref, _ := c.target()
	o := *u.outcome
	o.Result, o.Probability, o.Found = solve.Unsettled, c.holds(u.claim), u.asFound(solve.Unsettled)
	o.Reason = fmt.Sprintf("%s: now %.4f off, and it can not be said to hold", why, u.claim.uv.Dist(ref))
	u.outcome = &o
	c.enter(Entry{Kind: KindVerify, Fixture: u.Info.Name, Outcome: &o})
}

// readOtherwise tells whether a second visit that is not over has moved a unit from where it landed, or has read it elsewhere than was claimed.
func (c *Core) readOtherwise(u *unit) bool {
	o := u.outcome
	if !slices.ContainsFunc(c.all(), func(l *lane) bool { return l.at(u) }) || u.tally.readings <= o.Readings || u.tally.last == nil {
		return false
	}
	return o.After != nil && u.stood != nil && !slices.Equal(u.stood, o.After.Codes) || c.unlike(u)
}

// at tells whether a lane is at a unit, or waits to go on with it.
func (l *lane) at(u *unit) bool {
	if b := l.waiting(); b != nil {
		return b.task.unit() == u
	}
	return l.task != nil && l.task.unit() == u
}

// leftOpen tells whether a light may have come or gone while a unit was read, and the look at the dark that would show it is not
// over: the level of a lamp there leapt, or the readings of that look so far are of another background, which would have moved it too far.
func (c *Core) leftOpen(u *unit) bool {
	k, d := u.claim, c.background[u.Info.Probe]
	if d == nil {
		return false
	}
	for _, o := range c.units {
		if o.Info.Probe == u.Info.Probe && o.leap.by != 0 && !o.leap.alone && k.at >= o.leap.since {
			return true
		}
	}
	if k.at < d.mark.At() {
		return false // a look that is over has found it as it was
	}
	return slices.ContainsFunc(c.all(), func(l *lane) bool {
		b := l.inDark()
		if b == nil || len(b.probes) == 0 || b.probes[0] != u.Info.Probe {
			return false
		}
		jumps, _, _ := d.scan(c, b.got)
		return slices.ContainsFunc(jumps, func(j scene.Jump) bool { return effect(c.ref, k.light, j.By) > jumpHarm*c.cfg.Plan.Tolerance })
	})
}

// inDark is the look at the dark that a lane is at; nil for none.
func (l *lane) inDark() *backgrounds {
	switch t := l.task.(type) {
	case *backgrounds:
		return t
	case *darkRound:
		return t.back
	}
	return nil
}
