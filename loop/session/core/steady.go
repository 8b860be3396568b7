package core

import (
	"fmt"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// A lamp may set itself anew some seconds after its power has changed much. Each visit lights it and
// reads it soon, so that every reading agrees, and none is of the light that it will give all evening. What
// tells is a reading much later at the same codes ([Plan.Watch]): it is bought for the first units of a type, and where
// one was found to do it for all of them, in this run and, without being asked for, in those to come ([Config.Steadiness]).

// Figures of watching a lamp that stands.
const (
	lateReadings  = 3           // at the end of the watch
	mostLate      = 6           // where they leave it open
	watchedUnits  = 3           // of a type that are watched; where one of them is not steady, all are
	steadyDoubt   = 6.0         // squared distance of late from early readings, in variances (two degrees of freedom), that leaves it open: 5 %
	steadyMoved   = 13.8        // that shows it: 0.1 %
	steadyHarm    = 1.5         // of the tolerance: less is not named
	steadyFar     = 0.5         // of the tolerance: less does no harm
	leastWatching = time.Second // shorter is no watch
)

// steadiness is what is known of the units of a type.
type steadiness struct {
	watched  int
	long     time.Duration // after they were lit; the shortest
	restless bool          // one of them changed its colour by itself, in this run or an earlier one
	said     bool          // so
	moved    float64       // in this run: the farthest of them, u'v'; 0: none did
}

// steady is what is known of the type of a unit.
func (c *Core) steady(u *unit) *steadiness {
	key := u.Type
	if key == "" {
		key = u.Info.Profile
	}
	s := c.types[key]
	if s == nil {
		s = &steadiness{restless: c.cfg.Steadiness[u.Type].Restless()}
		c.types[key] = s
	}
	return s
}

// watches tells whether a unit has to be read again long after it was lit, before anything is claimed of it.
func (c *Core) watches(u *unit) bool {
	if !c.watchable() || c.watchOf(u) < leastWatching {
		return false
	}
	if u.watched {
		return u.moves > 0 // it does so every time
	}
	s := c.steady(u)
	return s.restless || s.watched < watchedUnits
}

// watchable tells whether lamps can be watched in this run: one that is put out for others, and read by no person.
func (c *Core) watchable() bool {
	return c.cfg.Work == Match && !c.cfg.Plan.KeepLit && !c.cfg.Plan.HandMeter
}

// watchOf is how long after it was lit a unit is watched, if it is: as the plan says, and no less than what showed
// its type to be restless in an earlier run. 0: not at all.
func (c *Core) watchOf(u *unit) time.Duration {
	if known := c.cfg.Steadiness[u.Type]; known.Restless() {
		return max(c.cfg.Plan.Watch, known.For)
	}
	return c.cfg.Plan.Watch
}

// watch holds the readings of a unit soon after it was lit against some long after.
type watch struct {
	station
	early []colorcalc.UV
	late  []solve.Reading
	anew  bool // it went dark in between, and was lit again
}

// begin goes on where a station has read the unit soon after it stood.
func (w *watch) begin(c *Core, s *station, early []colorcalc.UV) {
	w.early = early
	w.station = station{u: s.u, drive: s.drive, began: true, stands: s.stands, left: lateReadings, after: s.stands.At + c.watchOf(s.u)}
	w.station.heard = func(r solve.Reading) { w.late = append(w.late, r) }
}

// far is how far late readings lie from early ones, and the square of that in variances.
func (w *watch) far() (by, squared float64) {
	n, m := float64(len(w.early)), float64(len(w.late))
	if n == 0 || m == 0 {
		return 0, 0
	}
	var late []colorcalc.UV
	variance := 0.0
	for _, r := range w.late {
		late = append(late, r.UV)
		variance += r.SigmaUV * r.SigmaUV / m // of one reading
	}
	by = medianUV(w.early).Dist(medianUV(late))
	return by, by * by / (variance * lateSpread * (1/n + 1/m))
}

// lateSpread is the variance of a median beside that of a mean: pi/2 for many, less for three.
const lateSpread = 1.35

// step is done when late readings tell whether the unit has stayed as it was.
func (w *watch) step(c *Core, in input) want {
	if at := w.u.at.At; in.reading != nil && at > w.stands.At { // it was put out for a look at the dark
		stands := w.u.at
		w.stands, w.late, w.left = &stands, nil, lateReadings
		if w.anew {
			return want{next: true} // there is no long stay to be had
		}
		w.anew, w.after = true, at+c.watchOf(w.u)
		return want{read: c.askOf(w.u, w.after)}
	}
	out := w.station.step(c, in)
	if !out.next || w.weak != nil {
		return out
	}
	if by, squared := w.far(); squared > steadyDoubt && by > steadyFar*c.cfg.Plan.Tolerance && len(w.late) < mostLate {
		w.left = mostLate - len(w.late)
		return want{read: c.askOf(w.u, 0)}
	}
	return out
}

// told takes in what a watch has shown. It tells whether the unit is another by then, so that what was known of it
// does not count: a cold lamp that warms may go as far as a tolerance, and is not named for that.
func (c *Core) told(w *watch) bool {
	u, s := w.u, c.steady(w.u)
	u.watched = true
	s.watched++
	if long := c.watchOf(u); s.long == 0 || long < s.long {
		s.long = long
	}
	by, squared := w.far()
	if squared <= steadyDoubt || by <= steadyFar*c.cfg.Plan.Tolerance {
		return false
	}
	if squared <= steadyMoved || by <= steadyHarm*c.cfg.Plan.Tolerance {
		return true
	}
	if !s.said {
		s.said = true
		c.enter(Entry{Kind: KindDrift, Fixture: u.Info.Name, Note: fmt.Sprintf("%s changes its colour by itself, by %.4f within %s of being lit: all fixtures of its type are read so long after they are lit",
			u.Info.Name, by, c.watchOf(u))})
	}
	s.restless = true
	u.moves = max(u.moves, by)
	s.moved = max(s.moved, u.moves)
	return true
}

// restlessWords is what an outcome says of a unit that changes its colour by itself; "" for a steady one.
func (c *Core) restlessWords(u *unit) string {
	if !(u.moves > 0) {
		return ""
	}
	return fmt.Sprintf("; it changes its colour by itself, by %.4f within %s of being lit, and was read after that", u.moves, c.watchOf(u))
}
