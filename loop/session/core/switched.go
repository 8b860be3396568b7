package core

import (
	"fmt"
	"time"

	"trueup/loop/scene"
	"trueup/profiles/printable"
)

// A light that is switched now and then, and stands for a while each time, leaves time to read a lamp: between two looks at the dark that agree
// with each other it has not changed, as long as they lie no farther apart than it stands. Only one that changes faster, or too often for what a lamp
// takes, is refused.

// Figures of a light that is switched.
const (
	standsFor   = 10 * time.Second // it has to stand at the least: two fades, some readings and the dark take less
	bracketFor  = 7 * time.Second  // from one look at the dark until the next one is asked for: the way there takes another two or three
	freshFor    = 3 * time.Second  // old at the most is the look at the dark before a visit
	switchWatch = 40 * time.Second // it is watched, once, for shorter turns
	mostAnew    = 6                // times that visits to a lamp are begun anew because of it,
	longBeside  = 4 * time.Minute  // and for how long they go on
	mostOutrun  = 2                // lamps in a row that are given up for that, and then all others of the probe: with a slow meter a lamp takes longer than any light stands
)

// standsLong tells whether a light that made these jumps may have stood long enough to read a lamp, each time but for so many.
func standsLong(all []scene.Jump, but int) bool {
	for _, stood := range scene.Stood(all) {
		if stood < standsFor {
			but--
		}
	}
	return but >= 0
}

// watchedFrom is since when a passage that began at a moment is watched for a light that goes on and off faster.
func (d *dark) watchedFrom(c *Core, harmful []scene.Jump, began time.Duration) time.Duration {
	if d.alternates(c, harmful) {
		return began
	}
	return harmful[len(harmful)-1].At
}

// watchesFor is how long it is: once it is known to be switched, and for how long it stands, no longer.
func (d *dark) watchesFor(c *Core, harmful []scene.Jump, got, rest []Reading) time.Duration {
	switch {
	case d.switched, d.standsStill(c, got, rest) && standsLong(append(d.jumps[:len(d.jumps):len(d.jumps)], harmful...), 0):
		return 0
	case d.alternates(c, harmful):
		return switchWatch
	}
	return watchFor
}

// alternates tells whether jumps, after those before, are those of a light that goes on and off.
func (d *dark) alternates(c *Core, harmful []scene.Jump) bool {
	return scene.Blinks(append(d.jumps[:len(d.jumps):len(d.jumps)], d.lasting(c.now, d.Mean(), harmful)...))
}

// switches takes in that a light beside a probe is switched, and stands in between.
func (c *Core) switches(probe string, d *dark) {
	d.switched = true
	last := d.jumps[len(d.jumps)-1]
	c.enter(Entry{Kind: KindDrift, Note: fmt.Sprintf("a light beside %s is switched on and off: it changed the background by about %.2f lux %s; fixtures there are read between two looks at the dark that agree, which takes longer: put that light out or screen the meter from it",
		atProbe(probe), max(last.By.Y, -last.By.Y), d.timesWords())})
	for other, o := range c.background {
		if o != d && c.bracketed(o) {
			c.distrust(other, 0)
		}
	}
}

// bracketed tells whether lamps at a probe are read between two looks at the dark that lie close together: a light there is switched, or
// has come and gone of late; where one is switched at another probe, a single change is enough.
func (c *Core) bracketed(d *dark) bool {
	n := len(d.jumps)
	switch {
	case c.cfg.Plan.HandMeter: // nobody is asked for the dark so often
		return false
	case d.swings && !d.switched: // what has changed and changed back may have been a cloud
		return false
	case d.passedBy > 0 && c.now-d.passedBy <= warySince:
		return true
	case n == 0 || c.now-d.jumps[n-1].At > warySince:
		return false
	case d.switched, n >= 2 && d.jumps[n-1].Back(d.jumps[n-2]):
		return true
	}
	return c.switchedSomewhere()
}

// switchedSomewhere tells whether a light is switched beside any probe.
func (c *Core) switchedSomewhere() bool {
	return c.anyBackground(func(d *dark) bool { return d.switched })
}

// anyBackground tells whether something is so of the background at any probe.
func (c *Core) anyBackground(is func(*dark) bool) bool {
	for _, d := range c.background {
		if is(d) {
			return true
		}
	}
	return false
}

// alongside tells whether the dark is to be read at a probe where no light has come or gone so far, or of late, as another probe's has just been
// read because a light is switched there: it costs a reading or two, and a light that is switched here is met sooner.
func (c *Core) alongside(probe string, d *dark) bool {
	_, inDark := c.lane.task.(*backgrounds)
	return inDark && c.switchedSomewhere() && c.now-d.when > standsFor && c.readSince(probe, d)
}

// distrust forgets what was learnt of units of a probe that were read since a moment, and has those that landed read again, if their
// readings lie between two looks at the dark so far apart that a light may have come and gone, and are not of before it began.
func (c *Core) distrust(probe string, since time.Duration) {
	d := c.background[probe]
	for _, u := range c.units {
		if u.Info.Probe != probe || u.read < since || u.claim != nil && (u.claim.gap > 0 && u.claim.gap <= standsFor || d != nil && d.calmAt(u.claim)) {
			continue
		}
		u.forget()
		if u.claim != nil {
			u.claim.share = 1
		}
	}
}

// timesWords says how often the background has changed of late.
func (d *dark) timesWords() string {
	n := len(d.jumps)
	return fmt.Sprintf("three times within %s, each time back again", printable.Span((d.jumps[n-1].At - d.jumps[n-3].At).Round(time.Second)))
}

// bracket tells whether the dark is to be read at a probe beside a light that is switched, before a task: after every visit there, in the course of a
// long one, and before one if it was read some time ago and lamps were read since: with a slow meter it is as old as that at once.
func (c *Core) bracket(probe string, d *dark, before task) bool {
	if c.readSince(probe, d) {
		return before != c.lane.task || c.now-d.when > bracketFor
	}
	return before != c.lane.task && before.unit().Info.Probe == probe && c.now-d.known() > freshFor && c.looksAt(probe) > d.looked
}

// crossed counts that the background has jumped in the course of a visit to a unit, and whether that is begun anew for it or has no more readings that are sure
// than when it jumped before. A unit for which a light is switched too often is given up, and after some such in a row all others at the probe, but those that
// have landed.
func (c *Core) crossed(u *unit, d *dark, inVain bool) {
	if u.crossed++; !d.switched || u.outrun != "" {
		return
	}
	if inVain {
		u.begunAnew++
	}
	if u.begunAnew < mostAnew && c.now-u.begun <= longBeside {
		return
	}
	u.outrun = switchedTooOften(u.Info.Probe, fmt.Sprintf("%d times while %s was read", u.crossed, u.Info.Name))
	d.outrun++
	if d.outrun == mostOutrun {
		c.enter(Entry{Kind: KindDrift, Note: u.outrun})
	}
	for _, o := range c.units {
		others := d.outrun >= mostOutrun && o.Info.Probe == u.Info.Probe && o.claim == nil && o.outrun == "" && c.ours(o) && d.harms(c, o)
		if o != u && !others {
			continue
		}
		if o.outrun = u.outrun; o.outcome != nil {
			c.unclaimed(o, u.outrun, KindVerify)
		}
	}
}

// switchedTooOften says that a light beside a probe came or went too often to read lamps there: when it did so, in words.
func switchedTooOften(probe, when string) string {
	return fmt.Sprintf("a light beside %s is switched on and off too often: it came or went %s; put that light out or screen the meter from it", atProbe(probe), when)
}

// begins notes that a visit to a unit begins: nothing of it was read yet.
func (c *Core) begins(u *unit) {
	if u.given, u.wereSure = nil, 0; u.begunAnew == 0 && u.crossed == 0 {
		u.begun = c.now
	}
}

// settled notes that a visit to a unit has come to an end that is believed, in spite of all lights beside it.
func (u *unit) settled(d *dark) {
	u.begunAnew, u.crossed = 0, 0
	if d != nil {
		d.outrun = 0
	}
}
