package core

import (
	"fmt"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Light that goes faster than it can be looked at, as daylight under strong clouds, is out of date before a lamp is read: visits
// end without a claim, after many readings and as many looks at the dark. Once that has happened to two lamps, others for which
// it goes as fast are read a few times, and the run goes on.

// Figures of light that is too restless.
const (
	afterLook   = 3 * time.Second // from a look at the dark to the first reading of a lamp
	lostLooks   = 4               // of a visit that ends in vain, that count against the light
	mostLost    = 2               // lamps that are lost so
	lostDoubt   = 0.5             // of the tolerance: with less left to it a reading soon after each look may land a lamp (1/2.45 is 95 %)
	asFast      = 0.7             // of a doubt that was too much: the next is as much, as how fast the light goes is learnt anew at each look
	hurriedRead = 2               // readings of each other one in a visit, beside that as found and those of a second visit
)

// doubtSoon is what the background of a unit's probe gives to its light, for each axis of u'v', by the time it is read after a
// look at the dark; 0 where either is not known.
func (c *Core) doubtSoon(u *unit) float64 {
	d := c.background[u.Info.Probe]
	if d == nil || !(u.own.Y > 0) {
		return 0
	}
	return c.shareOf(d, u.own, d.when+afterLook)
}

// besideSweep tells whether the light beside a probe sweeps, and goes by too much for a lamp of some light within seconds: what its readings do in
// that time is no change of its own.
func (c *Core) besideSweep(probe string, light colorcalc.XYZ) bool {
	d := c.background[probe]
	return d != nil && d.Sweeps() && light.Y > 0 && d.Share(light, d.when+afterLook) > lostDoubt*c.cfg.Plan.Tolerance
}

// tooRestless tells whether the light beside a unit's probe goes too fast for it: others, to which theirs gave no larger doubt, were read in vain, or
// it was seen to sweep, and by how far.
func (c *Core) tooRestless(u *unit) bool {
	doubt := c.doubtSoon(u)
	if d := c.background[u.Info.Probe]; d != nil && d.Sweeps() && doubt > lostDoubt*c.cfg.Plan.Tolerance {
		return true
	}
	n := 0
	for _, at := range c.lost {
		if asFast*at <= doubt {
			n++
		}
	}
	return n >= mostLost
}

// lostToLight tells whether the visit to a unit that ends now without a claim was lost to the light beside its probe: it was looked at time and
// again, and by the first reading after a look its doubt is too much for the tolerance already.
func (c *Core) lostToLight(u *unit) bool {
	l := c.lane
	return l.task != nil && l.looks.visit == atFixture(l.task) && l.looks.n >= lostLooks && c.doubtSoon(u) > lostDoubt*c.cfg.Plan.Tolerance
}

// blamesLight puts the light beside the probe in place of the unit or the meter, where a visit was lost to it and no fault of the unit stands
// out: readings that follow neither profile nor scatter are what such a light makes.
func (c *Core) blamesLight(u *unit, d *solve.Decision) {
	switch d.Cause {
	case solve.NoCause, solve.LampDrift, solve.MeterNoise:
		if d.Outcome == solve.Unsettled && c.lostToLight(u) {
			d.Cause, d.Reason = solve.NoCause, c.restlessLight(u)
		}
	}
}

// restless takes in how a visit to a unit ended, as far as that tells of the light beside its probe.
func (c *Core) restless(u *unit, o solve.Outcome) {
	doubt := c.doubtSoon(u)
	switch {
	case doubt == 0:
	case o == solve.Landed:
		c.lost = slices.DeleteFunc(c.lost, func(at float64) bool { return at <= doubt })
	case o == solve.Unsettled && c.lostToLight(u):
		c.lost = append(c.lost, doubt)
		if len(c.lost) == mostLost && !c.saidLost {
			c.saidLost = true
			c.enter(Entry{Kind: KindDrift, Note: fmt.Sprintf("%s: %d fixtures were read in vain; "+
				"another one for which it goes as fast is left after %d readings beside that as found, if it has not landed by then",
				c.restlessLight(u), mostLost, hurriedRead)})
		}
	}
}

// restlessLight says that the light beside a unit's probe goes too fast for it, and what would likely do: by how fast it goes now.
func (c *Core) restlessLight(u *unit) string {
	doubt, tol := c.doubtSoon(u), c.cfg.Plan.Tolerance
	what, until := "daylight under clouds perhaps", "wait for a steadier sky"
	if d := c.background[u.Info.Probe]; d != nil && d.Sweeps() {
		what, until = "a moving light perhaps", "have it stand"
	}
	return fmt.Sprintf("the light beside %s, %s, goes too fast for a tolerance of %.4f: "+
		"seconds after a look at the dark its doubt moves the %.1f lux of %s by %.4f; "+
		"%.3g lux from a fixture, or a tolerance of %.4f, would likely do: "+
		"screen the meter from that light, raise the level, or %s",
		atProbe(u.Info.Probe), what, tol, u.own.Y, u.Info.Name, doubt, u.own.Y*doubt/(darkAgain*tol), doubt/darkAgain, until)
}
