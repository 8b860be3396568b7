package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// A light that changes all the time, as a wall of pictures, harms a lamp by as much as its share of the lamp's own light: it is beside the dim ones that nothing can be
// claimed. The others are read on: what it may have been while they were read is in their doubt.

// Figures of lamps beside a light that changes all the time.
const (
	mostLux      = 1e6 // a fixture gives at its probe
	muchBrighter = 3.0 // than any other lamp at its probe one is not expected to be,
	leastLights  = 3   // once so many were read there: one alone may be in another mode, or look elsewhere
)

// moved is the most by which jumps move a light, u'v'.
func (c *Core) moved(light colorcalc.XYZ, all []scene.Jump) (most float64) {
	for _, j := range all {
		most = max(most, effect(c.ref, light, j.By))
	}
	return most
}

// tooMuch tells whether jumps move a light by more than may be left out of account.
func (c *Core) tooMuch(light colorcalc.XYZ, all []scene.Jump) bool {
	return !(light.Y > 0) || c.moved(light, all) > jumpHarm*c.cfg.Plan.Tolerance
}

// lightOf is a unit's own light, as far as it is known.
func (u *unit) lightOf() colorcalc.XYZ {
	if u.claim != nil && u.claim.light.Y > 0 {
		return u.claim.light
	}
	return u.own
}

// harms tells whether a light that changes all the time beside a unit's probe moves it too far for a claim: no number of readings carries the tolerance beside
// that share, or the level is not known that is asked for. Of one that was not read yet
// its first reading tells, unless it would have to be much brighter than all that were.
func (d *dark) harms(c *Core, u *unit) bool {
	light := u.lightOf()
	if !(light.Y > 0) && u.tally.kept == 0 {
		brightest, read := d.light.Y, 0
		for _, o := range c.units {
			if y := o.lightOf().Y; c.background[o.Info.Probe] == d && y > 0 {
				brightest, read = max(brightest, y), read+1
			}
		}
		return read >= leastLights && d.harmlessFrom(c) > muchBrighter*brightest
	}
	_, ref := c.target()
	return !(light.Y > 0) || math.Hypot(ref, d.flickers(c.ref, light)) > c.mostShared(d, light.Y) || c.wantsLevel() && d.sways() > unlikeness*light.Y
}

// wantsLevel tells whether a level is asked for, beside a colour.
func (c *Core) wantsLevel() bool { return c.cfg.Plan.Common != NoCommon || c.commonLux != 0 }

// sways is the most by which a light has changed a background, lux. What is of the lamp's own colour does not move that, but then no level is
// what was foretold.
func (d *dark) sways() (most float64) {
	for _, j := range d.jumps {
		most = max(most, math.Abs(j.By.Y))
	}
	return most
}

// faintest is the light of the weakest lamp that was read at a dark's probe, of those of which something may be claimed: what a jump is held against.
func (d *dark) faintest(c *Core) colorcalc.XYZ {
	least := d.light
	for _, u := range c.units {
		if light := u.lightOf(); c.background[u.Info.Probe] == d && (u.outcome == nil || believed(u.outcome.Result)) && light.Y > 0 && light.Y < least.Y {
			least = light
		}
	}
	return least
}

// flickers is the standard deviation, for each axis of u'v', that a light which changes all the time gives to a lamp: what it was are samples, and the next lies farther from
// their mean than they do. It goes no farther than it goes, though: where that is less it is taken as a part of that. The readings of one visit are made in a few seconds: it is
// common to them.
func (d *dark) flickers(ref *Reference, light colorcalc.XYZ) float64 {
	sd := d.deviates(ref, light)
	if s := &d.changes; s.tell() {
		sd = min(sd*s.wider(), boundPart*s.farther()*s.most(ref, light))
	}
	return sd
}

// deviates is the same by how far it was from its mean while it was watched; where it was not for long, by its jumps: from one moment to another it goes by the root of
// two further than from its mean.
func (d *dark) deviates(ref *Reference, light colorcalc.XYZ) float64 {
	all, of := []colorcalc.XYZ(nil), 2.0
	if d.changes.tell() {
		all = d.changes.by
	} else {
		of = 4
		for _, j := range d.jumps {
			all = append(all, j.By)
		}
	}
	sum := 0.0
	for _, by := range all {
		sum += math.Pow(effect(ref, light, by), 2)
	}
	return math.Sqrt(sum / float64(max(len(all), 1)) / of)
}

// seen tells whether a light that changes all the time was watched for long enough to know between which lights it goes, or does not change so.
func (d *dark) seen(c *Core, got []Reading) bool {
	if c.cfg.Plan.HandMeter || len(got) >= mostWatch || got[len(got)-1].At-got[0].At >= swingFor {
		return true
	}
	jumps, _, _ := d.scan(c, got)
	harmful := d.harmful(c, jumps)
	return len(harmful) == 0 || !d.blinksBy(c, d.Mean(), harmful, got[0].At)
}

// changesAlways takes in that a light goes on and off all the time, by the readings of a passage that met it and its jumps: the background is their middle, and any of them
// is as likely at any moment.
func (c *Core) changesAlways(d *dark, lit []Reading, jumps int, at time.Duration) {
	z, _ := timed(lit) // all of them: the light that was there for a shorter time is no outlier
	d.changes = changingOf(z, jumps+1, lit[0].At)
	d.Leap(d.changes.middle, len(lit), c.meter(d.probe), at)
}

// shareOf is what a background gives to the doubt of a light at a moment, for each axis: by how it wanders, and by how it changes all the time.
func (c *Core) shareOf(d *dark, light colorcalc.XYZ, at time.Duration) float64 {
	share := d.Share(light, at)
	if d.blinks != "" {
		share = math.Hypot(share, d.flickers(c.ref, light))
	}
	return share
}

// harmlessFrom is the level from which on a lamp is not moved too far, lux: what a light does to one falls as its level rises.
func (d *dark) harmlessFrom(c *Core) float64 {
	uv, ref := c.target()
	carries := func(lux float64) bool {
		return math.Hypot(ref, d.flickers(c.ref, uv.XYZ(lux))) <= c.mostShared(d, lux)
	}
	least, from := 0.0, max(d.sways(), lastDigitLux)
	for ; !carries(from); from *= 2 {
		if least = from; from > mostLux {
			return math.Inf(1)
		}
	}
	for from-least > 0.01*from {
		if lux := (least + from) / 2; carries(lux) {
			from = lux
		} else {
			least = lux
		}
	}
	if c.wantsLevel() {
		from = max(from, d.sways()/unlikeness)
	}
	return from
}

// whomWords say of which fixtures nothing can be claimed.
func (d *dark) whomWords(c *Core) string {
	for _, u := range c.units {
		if c.background[u.Info.Probe] == d && u.lightOf().Y > 0 && !d.harms(c, u) {
			return fmt.Sprintf("of a fixture that gives less than %.3g lux there", d.harmlessFrom(c))
		}
	}
	return "of a fixture read there"
}
