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
	steadyUnasked = 20.0        // that shows it where nobody has asked: then all of its type are watched, which costs more than the run
	steadyHarm    = 1.5         // of the tolerance: less is not named of a unit alone
	steadyFar     = 0.5         // of the tolerance: less does no harm
	leastWatching = time.Second // shorter is no watch
)

// steadiness is what is known of the units of a type.
type steadiness struct {
	watched  int
	long     time.Duration // after they were lit; the shortest
	restless bool          // one of them moved its colour so far that all are watched, in this run or an earlier one
	leaps    bool          // that is no warming
	evidence float64       // of its units together for a leap, by shape
	squares  float64       // of these leaps, u'v'
	moved    float64       // in this run: the farthest of them, u'v'; 0: none did
	seen     float64       // u'v', from where on a movement would have been seen (Steadiness.Seen)
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
	switch {
	case u.watching:
		return true
	case u.watched:
		return u.moves > 0 // it does so every time
	}
	return c.steady(u).restless || c.watchesMore(u)
}

// watchable tells whether lamps can be watched in this run: one that is put out for others, and read by no person.
func (c *Core) watchable() bool {
	return c.cfg.Work == Match && !c.cfg.Plan.KeepLit && !c.cfg.Plan.HandMeter
}

// watchOf is how long after it was lit a unit is watched, if it is: as the plan says, and no less than what showed
// its type to be restless in an earlier run. 0: not at all.
func (c *Core) watchOf(u *unit) time.Duration {
	known, asked := c.cfg.Steadiness[u.Type], c.cfg.Plan.Watch
	switch {
	case known.Restless():
		return max(asked, known.For)
	case asked == 0 && c.watchFirst > 0:
		return UsualWatch
	}
	return asked
}

// watch holds the readings of a unit soon after it was lit against some long after.
type watch struct {
	station
	early   []glance
	between []glance
	late    []glance
	lateAt  time.Duration // the late readings begin no earlier
	anew    bool          // it went dark in between, and was lit again
	looks   int           // at the dark that were asked for, as it seems to have moved
	under   colorcalc.XYZ // as the dark was known to be before the first of them
}

// begin goes on where a station has read the unit soon after it stood.
func (w *watch) begin(c *Core, s *station, early []glance) {
	w.early = early
	w.station = station{u: s.u, drive: s.drive, began: true, left: lateReadings}
	w.lit(c, s.stands)
	w.station.heard = func(r solve.Reading) {
		g := glance{c.now - w.stands.At, r}
		if w.after >= w.lateAt {
			w.late = append(w.late, g)
			return
		}
		w.between = append(w.between, g)
		w.left++
		w.glances(c, w.after+c.watchOf(w.u)/glances)
		w.u.repeats = repeats{} // it may be moving: these do not tell how the meter scatters
	}
}

// lit begins the time of the watch.
func (w *watch) lit(c *Core, stands *loop.Arrival) {
	w.stands, w.lateAt = stands, stands.At+c.watchOf(w.u)
	w.between, w.late, w.left = nil, nil, lateReadings
	w.glances(c, c.now)
}

// glances sets when the next reading begins: of the first units of a type one after another.
func (w *watch) glances(c *Core, next time.Duration) {
	if next = max(next, c.now); c.steady(w.u).watched >= watchedUnits || next+2*c.paceAt(w.u) > w.lateAt {
		next = w.lateAt
	}
	w.after = next
}

// far is how far late readings lie from early ones, and the square of that in variances.
func (w *watch) far() (by, squared float64) {
	if len(w.early) == 0 || len(w.late) == 0 {
		return 0, 0
	}
	var late []colorcalc.UV
	var early []colorcalc.UV
	for _, g := range w.early {
		early = append(early, g.r.UV)
	}
	for _, g := range w.late {
		late = append(late, g.r.UV)
	}
	by = medianUV(early).Dist(medianUV(late))
	return by, by * by / w.spread()
}

// spread is the variance of how far late readings lie from early ones by noise alone, (u'v')². It needs one of each.
func (w *watch) spread() float64 {
	n, m := float64(len(w.early)), float64(len(w.late))
	variance := 0.0
	for _, g := range w.late {
		variance += g.r.SigmaUV * g.r.SigmaUV / m // of one reading
	}
	return variance * lateSpread * (1/n + 1/m)
}

// sees is from where on, in u'v', a movement of the unit would have been named. A unit that has moved by more than noise, and was
// not named, shows no more than that others of its type move no farther: three times that is taken, so that it does no harm (see
// steadyFar) at the tolerances of which that holds. It needs readings at both ends.
func (w *watch) sees(tolerance float64) float64 {
	seen := max(steadyHarm*tolerance, math.Sqrt(steadyDoubt*w.spread()))
	if by, squared := w.far(); squared > steadyDoubt && by > steadyFar*tolerance {
		seen = max(seen, steadyHarm/steadyFar*by)
	}
	return min(seen, mostMoved)
}

// roomLevel is by how much, ln, a level has changed at the least where a light of the room may have come or gone.
const roomLevel = 0.01

// lateSpread is the variance of a median beside that of a mean: pi/2 for many, less for three.
const lateSpread = 1.35

// shape is the shape of all that was read.
func (w *watch) shape() shape { return shapeOf(slices.Concat(w.early, w.between, w.late)) }

// step is done when late readings tell whether the unit has stayed as it was.
func (w *watch) step(c *Core, in input) want {
	if at := w.u.at.At; in.reading != nil && at > w.stands.At { // it was put out for a look at the dark
		stands := w.u.at
		if w.anew {
			w.late = nil
			return want{next: true} // there is no long stay to be had
		}
		w.anew = true
		w.lit(c, &stands)
		return want{read: c.askOf(w.u, w.after)}
	}
	w.u.awaited = in.reading != nil
	out := w.station.step(c, in)
	if w.u.awaited = false; !out.next || w.weak != nil {
		return out
	}
	if by, squared := w.far(); squared > steadyDoubt && by > steadyFar*c.cfg.Plan.Tolerance && len(w.late) < mostLate {
		w.left, w.after = mostLate-len(w.late), w.lateAt
		return want{read: c.askOf(w.u, 0)}
	}
	if w.mayBeTheRoom(c) {
		return want{read: c.askOf(w.u, 0)}
	}
	return out
}

// mayBeTheRoom asks for the dark where a unit seems to have moved and its level has changed with its colour: a light of the room that came or went while it was
// watched does the same. It is asked for again if that has shown another dark: a watch that is cut twice tells nothing. Of a type that moves it is not asked. It tells whether it did.
func (w *watch) mayBeTheRoom(c *Core) bool {
	by, squared := w.far()
	d := c.background[w.u.Info.Probe]
	if d == nil || !(squared > steadyDoubt) || by <= steadyFar*c.cfg.Plan.Tolerance || c.steady(w.u).leaps {
		return false
	}
	if w.looks > 0 && (w.looks > 1 || effect(c.ref, w.u.own, d.Mean().Sub(w.under)) <= slightDark*c.cfg.Plan.Tolerance) {
		return false
	}
	level := func(all []glance) float64 {
		var lux []float64
		for _, g := range all {
			lux = append(lux, g.r.Y)
		}
		return median(lux)
	}
	before, now, under := level(w.early), level(w.late), d.Mean()
	if !(before > 0) || !(now > 0) || math.Abs(math.Log(now/before)) <= roomLevel || !c.doubt(w.u, true) {
		return false
	}
	if w.looks++; w.looks == 1 {
		w.under = under
	}
	return true
}

// told takes in what a watch has shown. It tells whether the unit is another by then, so that what was known of it
// does not count. A watch without readings at both of its ends has shown nothing, nor has one beside light that goes too fast.
func (c *Core) told(w *watch) bool {
	w.u.watching = false
	if len(w.early) == 0 || len(w.late) == 0 || c.tooRestless(w.u) || c.besideSweep(w.u.Info.Probe, w.u.own) {
		return false
	}
	u, s := w.u, c.steady(w.u)
	u.watched = true
	s.watched++
	if long := c.watchOf(u); s.long == 0 || long < s.long {
		s.long = long
	}
	by, squared := w.far()
	s.seen = max(s.seen, w.sees(c.cfg.Plan.Tolerance))
	found, leaps := s.moves(w.shape(), by, squared, c.cfg.Plan.Tolerance)
	if all := found > 0 && (c.watchFirst == 0 || leaps || s.restless || squared > steadyUnasked); all {
		if leaps && !s.leaps {
			s.leaps = true
			c.enter(Entry{Kind: KindDrift, Fixture: u.Info.Name, Note: fmt.Sprintf("%s changes its colour by itself, by %.4f within %s of being lit: all fixtures of its type are read so long after they are lit",
				u.Info.Name, found, c.watchOf(u))})
		}
		s.restless, s.moved = true, max(s.moved, found)
	}
	if squared <= steadyDoubt || by <= steadyFar*c.cfg.Plan.Tolerance { // as sees has it
		return s.restless // of a type that moves, what was read before does not count, however little of it shows
	}
	if s.restless || found > 0 {
		u.moves = max(u.moves, by)
	}
	return true
}

// restlessWords is what an outcome says of a unit that changes its colour by itself; "" for a steady one.
func (c *Core) restlessWords(u *unit) string {
	if !(u.moves > 0) {
		return ""
	}
	if !c.steady(u).leaps {
		return fmt.Sprintf("; its colour moves by %.4f within %s of being lit, as a lamp's does that warms, and it was read after that", u.moves, c.watchOf(u))
	}
	return fmt.Sprintf("; it changes its colour by itself, by %.4f within %s of being lit, and was read after that", u.moves, c.watchOf(u))
}
