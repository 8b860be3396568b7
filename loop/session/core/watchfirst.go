package core

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"trueup/profiles/printable"
)

// watchesFirst decides, when the second round begins, whether the first unit of each type is watched without being asked for: where that takes no
// more than Plan.WatchShare of the run, which is taken to be twice as long as its first round. Two or three of each are where they take no
// longer than one, as side by side in lanes, or no more than half of that share.
func (c *Core) watchesFirst() {
	if c.cfg.Plan.Watch != 0 || !(c.cfg.Plan.WatchShare > 0) || c.commonLux != 0 || !c.watchable() {
		return
	}
	counts := func(u *unit) bool { return u.outcome.Landed() || u.unreadAhead }
	takes, names := c.unknownTypes(1, counts)
	most := time.Duration(c.cfg.Plan.WatchShare * 2 * float64(c.worked()))
	if len(names) == 0 || takes > most {
		return
	}
	c.watchFirst = 1
	for n := 2; n <= watchedUnits; n++ {
		if longer, _ := c.unknownTypes(n, counts); longer <= max(takes, most/2) {
			c.watchFirst, takes = n, longer
		}
	}
	c.enter(Entry{Kind: KindDrift, Watching: takes, Note: fmt.Sprintf("of each type the first %s read again %s after it was lit, to see whether it changes its colour by itself (%s): that takes some %s",
		[]string{"is", "two are", "three are"}[c.watchFirst-1], UsualWatch, strings.Join(names, ", "), printable.Span(takes.Round(time.Second)))})
}

// worked is how long ago the first visit began. A break between two parts of a run does not count.
func (c *Core) worked() time.Duration {
	first := c.now
	for _, u := range c.units {
		if u.tally.visited {
			first = min(first, u.tally.began)
		}
	}
	return c.now - first
}

// watchesMore tells whether another unit of the type of one is watched.
func (c *Core) watchesMore(u *unit) bool {
	s := c.steady(u)
	switch d := c.background[u.Info.Probe]; {
	case c.cfg.Plan.Watch == 0 && d != nil && c.bracketed(d):
		return false // nobody asked for it, and the dark is to be looked at sooner
	case c.watchFirst == 0 || s.evidence > leapShown: // it looks like a leap, and is too small to tell by one
		return s.watched < watchedUnits
	case c.knownSteady(u):
		return false
	}
	n := s.watched
	for _, o := range c.units {
		if n >= c.watchFirst { // mostly at once: the units are not gone through for each of thousands
			return false
		}
		if o.watching && c.steady(o) == s {
			n++
		}
	}
	return n < c.watchFirst
}

// knownSteady tells whether earlier runs have watched enough units of the type of one.
func (c *Core) knownSteady(u *unit) bool {
	return c.cfg.Steadiness[u.Type].Steady(c.cfg.Plan.Tolerance)
}

// unknownTypes are the types of which nobody knows whether they keep their colour, with at least one unit that counts, and how long it
// takes to watch most units of each: that of the lane that takes longest.
func (c *Core) unknownTypes(most int, counts func(*unit) bool) (takes time.Duration, names []string) {
	among := c.infos()
	left := map[*steadiness]int{} // units of it that would be watched yet
	cost := map[*lane]time.Duration{}
	c.each(func(u *unit) {
		s := c.steady(u)
		if !counts(u) || u.watched || s.watched >= watchedUnits || s.restless || c.knownSteady(u) {
			return
		}
		if _, begun := left[s]; !begun {
			left[s] = s.watched
		}
		name := TypeName(u.Info, among) + c.cfg.Steadiness[u.Type].short(c.cfg.Plan.Tolerance)
		if s.watched > 0 {
			name += fmt.Sprintf(" (only %d watched)", s.watched)
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		if left[s]++; left[s] <= most {
			cost[c.byProbe[u.Info.Probe]] += UsualWatch + 2*lateReadings*c.paceAt(u)
		}
	})
	for _, d := range cost {
		takes = max(takes, d)
	}
	return takes, names
}
