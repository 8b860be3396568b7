package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
)

// One lamp of a type may be slower than the one that has shown how long the type takes, by a menu of its own; and a meter that gives
// the mean of its last windows, or that takes a while to change its range, takes longer where a lamp comes up from the dark than
// where one light follows another. Both show from one reading of a setting to the next: by a level that still rises, or by a colour that still goes the way of its step.
// The lamp is waited for longer from then on, until it is lit again: somebody who put a light on slowly looks the same, and a shadow that goes does until the next
// reading, which is made first (risesYet). If it does so
// then as well, it is sure; the second of a type that does so has the whole type waited for.

// Figures of a light that is still on its way.
const (
	risesBy     = 0.025           // of the level, ln, between two readings, at the least,
	stillNoise  = 6.0             // and standard deviations of the meter's, of level and colour
	stillWithin = 6 * time.Second // after the lamp was lit or has made its step: what moves later is somebody's light, or the lamp gets warm
	asideNoise  = 5.0             // standard deviations that it is off that way at the most
	onItsWayFor = 3               // times as long as it was seen to be on its way a lamp is waited for,
	mostWait    = 8 * time.Second // and so long at the most
)

// slower is what is known of a unit that takes longer than its type.
type slower struct {
	seen, sure    bool          // it was on its way still; at two lights
	settle, least time.Duration // what it was waited for before
	lit           time.Duration // when it had been lit then
	shadow        time.Duration // when it had been lit as its level last rose as of a shadow that goes; 0: it did not
}

// looksAgain has a unit that has just been lit read as soon as its type, if it was once on its way still by then.
func (u *unit) looksAgain() {
	if u.slower.seen && !u.slower.sure {
		u.settle, u.least = u.slower.settle, u.slower.least
	}
}

// onItsWay takes in that a unit was read twice at one setting, and waits longer for it where its light has gone on its way
// meanwhile: longer than until the end of the first of the two, for it goes to an end that nobody has seen.
func (c *Core) onItsWay(u *unit, first *levelRead) {
	now := &u.levelRead
	since, how, comparable := c.wentOn(u, first, now)
	if !comparable || u.rise.told && u.rise.stands == now.stands { // what that rise was is told already
		return
	}
	if how == "" {
		if s := &u.slower; !s.sure && s.shadow != u.litAt && (s.settle >= u.settle || !s.seen) { // it stood, as soon after it was lit as then
			*s = slower{}
		}
		return
	}
	if slowly(u, since) {
		c.waitsLonger(u, since, how)
	}
}

// waitsLonger has a unit waited for longer whose light still went on its way that long after the output had arrived: until it is lit again, and for good where that is seen for the
// second time.
func (c *Core) waitsLonger(u *unit, since time.Duration, how string) {
	waits, long := min(onItsWayFor*since, mostWait), "until it is lit again"
	switch s := &u.slower; {
	case !s.seen:
		*s = slower{seen: true, settle: u.settle, least: u.least, lit: u.litAt}
	case s.lit != u.litAt:
		s.sure, long = true, "from now on"
	}
	for _, o := range c.units {
		if o == u || o.SettleKey() == u.SettleKey() && c.anotherIsSlower(u) {
			o.waitsFor(waits)
		}
	}
	c.enter(Entry{Kind: KindSettle, Fixture: u.Info.Name, Note: fmt.Sprintf("its light still %s %d ms after the output had arrived: it is waited for %d ms %s", how, since/time.Millisecond, waits/time.Millisecond, long)})
}

// wentOn tells since when, counted from the arrival of its output, and in which way the light of a unit has gone on its way between two readings of one setting;
// how "": it has not. Not comparable: they are not two readings of its light at one setting.
func (c *Core) wentOn(u *unit, first, now *levelRead) (since time.Duration, how string, comparable bool) {
	if first.again || first.early || first.stands != now.stands || !slices.Equal(first.set, now.set) || u.SettleKey() == "" {
		return 0, "", false
	}
	if u.weakAt > 0 && u.weakAt == now.stands { // somebody who stood in the beam steps out of it
		return 0, "", false
	}
	sigma := max(c.noiseAt(u.Info.Probe).sigmaUV(), first.sd, now.sd)
	gone, aside := along(u.fading.step, first.uv, now.uv), first.uv.Dist(now.uv)
	if gone > 0 {
		aside = math.Sqrt(max(aside*aside-gone*gone, 0))
	}
	switch {
	case aside > asideNoise*sigma || gone > u.fading.step.Dist(colorcalc.UV{})+asideNoise*sigma: // one of the two is not of this light
		return 0, "", false
	case gone > stillNoise*sigma:
		return first.at - u.at.At, "moved", true
	case first.lux > 0 && now.lux > 0 && math.Log(now.lux/first.lux) >= max(risesBy, stillNoise*now.lnSD):
		return first.at - u.litAt, "rose", true
	}
	return 0, "", true
}

// slowly tells whether a unit whose light still went on its way that long after the output had arrived is to be waited for longer than it is.
func slowly(u *unit, since time.Duration) bool {
	return since > 0 && since <= stillWithin && min(onItsWayFor*since, mostWait) > u.settle
}

// rise is a level that rises from one reading of a setting to the next, soon after the unit was lit.
type rise struct {
	stands  time.Duration // since when it stands at the setting
	lit     time.Duration // when it was lit
	since   time.Duration // that, at the end of the first reading
	samples []loop.Sample // counted from when it was lit
	told    bool          // whether it is a shadow's
}

// Figures of a level that rises.
const (
	mostRise = 5 // readings at the most: one that goes on rising is slow
	memory   = 4 // readings that a meter may give the mean of: sooner after a lamp was lit the dark may be in them
)

// earlier is the reading that the next one of a setting is held against: the last, or, where that was of another setting, one that was set aside for somebody in the beam.
func (u *unit) earlier(last *levelRead) *levelRead {
	if b := &u.beam.first; last.stands != u.at.At && b.stands == u.at.At {
		return b
	}
	return last
}

// risesYet tells whether a reading of a unit is to be followed by another before it counts, since its level is more than it was at this setting: a shadow that goes, as of
// somebody who steps out of the beam, leaves a level that stands at once. It is not waited for, unless that comes again when the unit is lit the next time.
func (c *Core) risesYet(u *unit, r *Reading, net *solve.Reading) bool {
	if u.rise.stands != u.at.At {
		if s := &u.rise; len(s.samples) > 0 && !s.told && !u.slower.seen { // it was moved before that was known
			u.slower = slower{seen: true, settle: u.settle, least: u.least, lit: s.lit}
		}
		u.rise = rise{stands: u.at.At, lit: u.litAt}
	}
	s, first := &u.rise, u.earlier(&u.levelRead)
	sample := func(at time.Duration, lux float64) loop.Sample {
		return loop.Sample{After: at - u.litAt, Window: r.Integration, LnY: math.Log(lux)}
	}
	switch {
	case s.told || !net.HasY || !(net.Y > 0):
		return false
	case len(s.samples) == 0:
		now := levelRead{at: r.At, stands: u.at.At, lux: net.Y, uv: net.UV, sd: net.SigmaUV, lnSD: net.SigmaLnY, set: u.at.Sent}
		since, how, _ := c.wentOn(u, first, &now)
		pace := r.At - first.at
		if first == &u.beam.first { // after which the meter was given a pause
			pace = max(pace-beamPause, r.Integration)
		}
		if how != "rose" || u.slower.sure || !slowly(u, since) || since <= memory*pace {
			return false
		}
		s.since, s.samples = since, []loop.Sample{sample(first.at, first.lux), sample(r.At, net.Y)}
	default:
		s.samples = append(s.samples, sample(r.At, net.Y))
		n := len(s.samples)
		if s.told = n == mostRise || !loop.Differs(s.samples[n-2], s.samples[n-1], 0, net.SigmaLnY); s.told {
			c.shadowWent(u, loop.Steps(s.samples, net.SigmaLnY))
			return false
		}
	}
	c.setAside(u, r, "its level has risen since the reading before: it is read once more, to see whether it still rises")
	return true
}

// shadowWent takes in whether a level that rose was that of a shadow that went. A unit that shows the same when it is lit again is one that comes late.
func (c *Core) shadowWent(u *unit, went bool) {
	s := &u.slower
	if went && (s.shadow == 0 || s.shadow == u.litAt) {
		s.shadow = u.litAt
		return
	}
	if went && !s.seen {
		*s = slower{seen: true, settle: u.settle, least: u.least, lit: s.shadow}
	}
	c.waitsLonger(u, u.rise.since, "rose")
}

// anotherIsSlower tells whether a unit and another of the same type and feed were on their way still, one of them for sure.
func (c *Core) anotherIsSlower(u *unit) bool {
	return slices.ContainsFunc(c.units, func(o *unit) bool {
		return o != u && o.slower.seen && (o.slower.sure || u.slower.sure) && o.SettleKey() == u.SettleKey()
	})
}
