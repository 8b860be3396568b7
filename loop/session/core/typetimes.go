package core

import (
	"fmt"
	"time"
)

// TypeTimes is what lamps of a type do in time, as a run has found it: for the next one.
type TypeTimes struct {
	// DeadTimes were measured, by Unit.SettleKey. 0: a kept one did not hold, and no other was measured.
	DeadTimes map[string]time.Duration
	// Steadiness is of the types of which units were watched, by Unit.Type, without what earlier runs knew (see Steadiness.After).
	Steadiness map[string]Steadiness
}

// Steadiness is what is known of whether units of a type keep their colour after they were lit.
type Steadiness struct {
	Watched int           `json:"watched"`            // units
	For     time.Duration `json:"for_ns"`             // after they were lit, the shortest of them
	Moved   float64       `json:"moved_uv,omitempty"` // u'v', the farthest that one moved by itself; 0: none did
	// Seen is from where on, in u'v', a movement would have been named: what was judged with a coarse tolerance or a noisy meter holds
	// for no finer one. 0: not known.
	Seen float64 `json:"seen_uv,omitempty"`
}

// Bounds of what may be known from earlier runs.
const (
	MostDeadTime = time.Minute
	MostWatch    = 2 * time.Minute // what a lamp does later is warmth
	mostMoved    = 1.0             // u'v'
	mostWatched  = 1e6
)

// UsualWatch is how long after they were lit lamps are proposed to be watched. One that was watched for less may yet
// change: those that are known to do so within six seconds.
const UsualWatch = 8 * time.Second

// whole tells whether enough units were watched for long enough, and none was named.
func (s Steadiness) whole() bool {
	return s.Moved == 0 && s.Watched >= watchedUnits && s.For >= UsualWatch
}

// Steady tells whether enough units were watched for long enough, and none moved by what matters at a tolerance, in u'v'.
func (s Steadiness) Steady(tolerance float64) bool { return s.whole() && s.fine(tolerance) }

// fine tells whether what matters at a tolerance would have been seen.
func (s Steadiness) fine(tolerance float64) bool { return s.seen() <= steadyHarm*tolerance*(1+1e-9) }

func (s Steadiness) seen() float64 {
	if s.Seen == 0 {
		return mostMoved
	}
	return s.Seen
}

// Restless tells whether a unit was found to move its colour so far that all of its type are watched.
func (s Steadiness) Restless() bool { return s.Moved > 0 }

// Check tells what can not be: figures that no run finds.
func (s Steadiness) Check() error {
	if s.Watched < 1 || s.Watched > mostWatched || s.For < leastWatching || s.For > MostWatch || !(s.Moved >= 0 && s.Moved <= mostMoved) || !(s.Seen >= 0 && s.Seen <= mostMoved) {
		return fmt.Errorf("%d fixtures watched for %v, moved by %g, seen from %g: want 1 to %g, %v to %v, and 0 to %g", s.Watched, s.For, s.Moved, s.Seen, mostWatched, leastWatching, MostWatch, mostMoved)
	}
	return nil
}

// After is what is known after a run that has found more. A watch that was shorter takes nothing from what a longer one has shown,
// unless that was of too few. A type that was restless is taken to be steady again when a run has watched as many units as make one
// known, as long and as finely, and none moved. Units are not added up over runs: they may have been the same.
func (s Steadiness) After(run Steadiness) Steadiness {
	switch {
	case run.Watched == 0:
		return s
	case s.Watched == 0:
		return run
	case run.Restless():
		if s.Restless() {
			run.For = max(run.For, s.For)
		}
		return run
	case s.Restless():
		if run.Watched < watchedUnits || run.For < s.For || run.seen() > max(s.Moved, s.seen()) {
			return s
		}
		return run
	case s.whole() != run.whole():
		if s.whole() {
			return s
		}
		return run
	case s.seen() != run.seen():
		if s.seen() < run.seen() {
			return s
		}
		return run
	case run.For < s.For || run.Watched < s.Watched:
		return s
	}
	return run
}

func (c *Config) checkTimes() error {
	for key, d := range c.DeadTimes {
		if d <= 0 || d > MostDeadTime {
			return fmt.Errorf("dead time of %s: %v, want more than 0 and at most %v", key, d, MostDeadTime)
		}
	}
	for key, s := range c.Steadiness {
		if err := s.Check(); err != nil {
			return fmt.Errorf("steadiness of %s: %w", key, err)
		}
	}
	return nil
}

// TypeTimes is what this run has found of types so far.
func (c *Core) TypeTimes() TypeTimes {
	t := TypeTimes{DeadTimes: map[string]time.Duration{}, Steadiness: map[string]Steadiness{}}
	for key := range c.measuredDead {
		if !c.fleeting[key] {
			t.DeadTimes[key] = min(c.deadTimes[key], MostDeadTime)
		}
	}
	for key := range c.cfg.DeadTimes {
		if c.fleeting[key] {
			t.DeadTimes[key] = 0
		}
	}
	for _, u := range c.units {
		s := c.types[u.Type]
		if u.Type == "" || s == nil || s.watched == 0 {
			continue
		}
		t.Steadiness[u.Type] = Steadiness{Watched: s.watched, For: s.long, Moved: s.moved, Seen: s.seen}
	}
	return t
}
