package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
)

// One lamp of a type may be slower than the one that has shown how long the type takes, by a menu of its own; and a meter that gives
// the mean of its last windows, or that takes a while to change its range, takes longer where a lamp comes up from the dark than
// where one light follows another. Both show from one reading of a setting to the next: by a level that still rises, or by a colour that still goes the way of its step.
// The lamp is waited for longer from then on, until it is lit again: a hand that went from the meter, or somebody who put a light on, looks the same. If it does so
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
	if first.again || first.early || first.stands != now.stands || !slices.Equal(first.set, now.set) || u.SettleKey() == "" {
		return
	}
	if u.weakAt > 0 && u.weakAt == now.stands { // somebody who stood in the beam steps out of it
		return
	}
	sigma := max(c.noise.sigmaUV(), first.sd, now.sd)
	since, how := first.at-u.at.At, "moved"
	gone, aside := along(u.fading.step, first.uv, now.uv), first.uv.Dist(now.uv)
	if gone > 0 {
		aside = math.Sqrt(max(aside*aside-gone*gone, 0))
	}
	if aside > asideNoise*sigma || gone > u.fading.step.Dist(colorcalc.UV{})+asideNoise*sigma { // one of the two is not of this light
		return
	}
	if !(gone > stillNoise*sigma) {
		since, how = first.at-u.litAt, "rose"
		if !(first.lux > 0 && now.lux > 0) || math.Log(now.lux/first.lux) < max(risesBy, stillNoise*now.lnSD) {
			if !u.slower.sure && u.slower.settle >= u.settle { // it stood, as soon after it was lit as then
				u.slower = slower{}
			}
			return
		}
	}
	waits := min(onItsWayFor*since, mostWait)
	if since <= 0 || since > stillWithin || waits <= u.settle {
		return
	}
	long := "until it is lit again"
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

// anotherIsSlower tells whether a unit and another of the same type and feed were on their way still, one of them for sure.
func (c *Core) anotherIsSlower(u *unit) bool {
	return slices.ContainsFunc(c.units, func(o *unit) bool {
		return o != u && o.slower.seen && (o.slower.sure || u.slower.sure) && o.SettleKey() == u.SettleKey()
	})
}
