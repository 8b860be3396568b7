package safety

import "time"

// window is the sliding second, with a little more so that a receiver whose
// clock runs a frame late still sees no seventh swing inside one second.
const window = 1050 * time.Millisecond

// near takes a hair off every threshold: rounding must not let a swing of
// exactly the threshold pass uncounted.
const near = 1e-9

// run is a series of swings in one direction, of whatever heads: lights that
// rise together, or one after the other, are one change for the eye.
type run struct {
	up          bool
	first, last time.Duration
}

// sequence is the alternating runs that the sliding second still touches. Its
// length is the number of opposing swings.
type sequence struct {
	runs [MaxSwings + 2]run
	n    int
}

// forget drops what lies before the window.
func (q *sequence) forget(now time.Duration) {
	k := 0
	for k < q.n && now-q.runs[k].last > window {
		k++
	}
	if k > 0 {
		copy(q.runs[:], q.runs[k:q.n])
		q.n -= k
	}
}

// add appends a swing. The caller has called forget. What swings in one frame swings
// together: one of its directions comes first, whichever head is tended first, and in
// a crossfade all that rises is one run and all that falls is another.
func (q *sequence) add(up bool, now time.Duration) {
	at := q.n - 1
	if at >= 1 && q.runs[at].up != up && q.runs[at].first == now {
		at--
	}
	if at >= 0 && q.runs[at].up == up {
		q.runs[at].last = now
		return
	}
	if q.n < len(q.runs) {
		q.runs[q.n] = run{up, now, now}
		q.n++
	}
}

// guard counts opposing swings over all heads together, those of light and
// those of saturated red, and says whether one more fits.
type guard struct {
	light, red sequence
}

// swings of one head in one frame, under one law: up or down, of light and of red.
type swings struct {
	lightUp, lightDown, redUp, redDown bool
}

func (s swings) any() bool { return s.lightUp || s.lightDown || s.redUp || s.redDown }

// try adds the swings and returns true, or leaves the guard as it was. With
// yield only swings pass that need no room: another head has waited longer.
func (g *guard) try(s swings, now time.Duration, budget int, yield bool) bool {
	g.light.forget(now)
	g.red.forget(now)
	if yield {
		budget = min(budget, g.light.n+g.red.n)
	}
	next := *g
	for _, a := range [...]struct {
		q       *sequence
		yes, up bool
	}{{&next.light, s.lightUp, true}, {&next.light, s.lightDown, false}, {&next.red, s.redUp, true}, {&next.red, s.redDown, false}} {
		if !a.yes {
			continue
		}
		a.q.add(a.up, now)
		if next.light.n+next.red.n > budget {
			return false
		}
	}
	*g = next
	return true
}

// guards count under each law for itself, as if all lamps erred alike: one change of
// the light is one under each of them, though not in the same frame.
type guards [laws]guard

// try is guard.try: the swings pass under every law, or under none.
func (g *guards) try(s *[laws]swings, now time.Duration, budget int, yield bool) bool {
	next := *g
	for k := range s {
		if s[k].any() && !next[k].try(s[k], now, budget, yield) {
			return false
		}
	}
	*g = next
	return true
}

// count is the most opposing swings that the sliding second holds, under any law.
func (g *guards) count(now time.Duration) (n int) {
	for k := range g {
		g[k].light.forget(now)
		g[k].red.forget(now)
		n = max(n, g[k].light.n+g[k].red.n)
	}
	return n
}

// turns finds the swings in one quantity: a change by at least the threshold
// away from the last extreme, against the direction of the last swing.
type turns struct {
	lo, hi float64
	dir    int8 // of the last swing; 0 = none yet
}

func (t *turns) reset(v float64) { *t = turns{lo: v, hi: v} }

// see takes the next value and returns +1 or -1 when it completes a swing.
func (t *turns) see(v, threshold float64) int8 {
	t.lo, t.hi = min(t.lo, v), max(t.hi, v)
	switch {
	case t.dir <= 0 && v >= t.lo+threshold:
		*t = turns{lo: v, hi: v, dir: 1}
		return 1
	case t.dir >= 0 && v <= t.hi-threshold:
		*t = turns{lo: v, hi: v, dir: -1}
		return -1
	}
	return 0
}
