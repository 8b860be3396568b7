package safety

import (
	"fmt"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// restShare is what a head that stood too long at its cap is brought down to.
const restShare = 0.75

// fullShare is the share of the cap that counts as standing at it.
const fullShare = 0.95

// bigStep is the change of a parameter's light or range that is paced.
const bigStep = 0.10

// Levels makes the frame of universe u at now. See [sacn.Frames].
//
// Whatever now does, no frame moves further than [MaxStep] allows: a clock that
// runs backwards stands still, a jump ahead counts as one step. When frames were
// asked for more than [LostAfter] apart receivers have given the stream up, so the
// run is released: an hour's sleep does not end in the middle of a match.
//
// In an overlay nothing is sent before a desk was heard. A panic in here keeps
// the head that caused it where it stands, and releases all others.
func (g *Governor) Levels(now time.Time, u dmx.Universe, dst *[512]byte) (slots int) {
	g.mu.Lock()
	defer g.mu.Unlock()
	n := g.unis[u]
	if n == nil {
		return 0
	}
	dt, real := g.pass(n, now)
	if !n.own {
		heard := false
		if slots, heard = g.hear(n, real); !heard {
			return 0
		}
	}
	if g.cut && (g.stage == Releasing || g.stage == Waiting) {
		g.stage = Done // nobody hears a ramp
		g.notify()
	}
	if g.stage != Done && !g.cut {
		for _, h := range n.heads {
			g.guarded(h, n, now, dt)
		}
		if g.stage != Running {
			g.finish()
		}
	}
	if n.own {
		for _, h := range n.heads {
			g.written(h, n, &n.frame)
		}
		*dst, n.sent = n.frame, n.frame
		return n.slots
	}
	*dst = n.desk
	for _, h := range n.heads {
		if h.taken {
			g.written(h, n, dst)
			slots = max(slots, h.top())
		}
	}
	n.sent = *dst
	return slots
}

// pass lets time pass for a universe: dt is how long its heads may move for, real
// what has truly passed for it. It ends a run that stood still.
func (g *Governor) pass(n *universe, now time.Time) (dt, real time.Duration) {
	if !g.cut {
		dt, real = n.clock.step(now, MaxStep)
	}
	all, passed := g.clock.step(now, MaxStep)
	g.time += all
	if g.stage == Running {
		g.quiet += min(max(passed, 0), time.Second)
		if real > LostAfter {
			g.release(fmt.Sprintf("no frame was made for %v: the machine slept or stood still", real.Round(100*time.Millisecond)))
		} else if g.quiet >= g.limits.Watchdog {
			g.release(fmt.Sprintf("the watchdog expired: the run finished no step for %s", span(g.limits.Watchdog)))
		}
	}
	if g.stage == Releasing || g.stage == Waiting {
		g.ending += all
	}
	return dt, real
}

// hear takes the desk's look of a universe and returns how many slots it has; false
// where there is no desk, and then nothing is laid over.
func (g *Governor) hear(n *universe, real time.Duration) (slots int, ok bool) {
	slots, n.state = g.desk.Look(n.id, &n.desk)
	slots = min(max(slots, 0), dmx.SlotsPerUniverse)
	gone := n.state == sacn.BaseNone
	if gone || real > LostAfter { // the lamps have long gone back to the desk
		for _, h := range n.heads {
			h.taken = false
		}
	}
	if gone {
		if g.stage != Running {
			g.finish()
		}
		return 0, false
	}
	clear(n.desk[slots:])
	return slots, true
}

// written puts a head into a frame; one with a fault stays as it was sent last.
func (g *Governor) written(h *head, n *universe, frame *[512]byte) {
	defer func() {
		if p := recover(); p != nil {
			g.broke(h, p)
		}
		if h.broken {
			h.keep(&n.sent, frame)
		}
	}()
	if !h.broken {
		h.write(frame)
	}
}

// broke takes a head with a fault out of the run, and ends it.
func (g *Governor) broke(h *head, p any) {
	h.moving, h.fresh, h.broken = false, false, true
	g.unwait(h)
	h.held = fmt.Sprintf("a fault in the governor: %v", p)
	g.release(h.held)
	g.notify()
}

// guarded moves one head, and turns a panic into a release.
func (g *Governor) guarded(h *head, n *universe, now time.Time, dt time.Duration) {
	defer func() {
		if p := recover(); p != nil {
			g.broke(h, p)
		}
	}()
	if !h.broken {
		g.tend(h, n, now, dt)
	}
}

// tend brings one head forward by dt.
func (g *Governor) tend(h *head, n *universe, now time.Time, dt time.Duration) {
	if g.stage != Running {
		g.giveBack(h, n)
	} else if h.fresh && !h.taken {
		g.take(h, n)
	}
	if !h.taken {
		g.unwait(h)
		return
	}
	if h.fresh && !h.paced(g) {
		h.fresh = false
		g.start(h)
	}
	if h.moving {
		g.advance(h, n, now, dt)
	} else {
		g.unwait(h)
	}
	if g.stage == Running {
		g.rest(h, dt)
	}
}

// take makes a head of the desk's ours, at the values that the desk shows.
func (g *Governor) take(h *head, n *universe) {
	goalFresh := h.fresh
	h.stand(&n.desk)
	h.fresh = goalFresh
	if !h.pinned() {
		if g.limits.PeopleAloft {
			h.refuse(g, "the desk holds its shutter or effect slots off their safe values, and people are aloft: set them at the desk")
			return
		}
		if !h.mixes && h.dimmer < 0 {
			h.refuse(g, "the desk holds its shutter or effect slots off their safe values, and it cannot be darkened to change them: set them at the desk")
			return
		}
	}
	if g.limits.PeopleAloft && h.lightOf(h.goal) < g.limits.KeepLight*h.base {
		h.refuse(g, ErrAloft.Error())
		return
	}
	h.taken = true
}

// refuse drops a wish and says why. The head stands where it is: its ways may
// be the next leg's already, and must not be taken for the end of this one.
func (h *head) refuse(g *Governor, why string) {
	h.moving, h.fresh, h.calm, h.later, h.held = false, false, false, false, why
	g.notify()
}

// giveBack keeps the goal of a head on what it has to end on, and lets it go
// once it is there.
func (g *Governor) giveBack(h *head, n *universe) {
	if n.own {
		if !h.resting {
			copy(h.goal, h.rest)
			h.resting, h.fresh, h.arrived = true, true, false
		}
		return
	}
	if !h.taken {
		h.fresh = false
		return
	}
	there := true
	for i := range h.axes {
		a := &h.axes[i]
		c := get(&n.desk, a.rule.Slots)
		there = there && a.code == c
		if h.goal[i] != c || !h.resting {
			if h.resting {
				h.chased = g.time
			}
			h.goal[i] = c
			h.fresh = true
		}
	}
	h.resting = true
	for i := range h.pins {
		if h.pins[i].code != get(&n.desk, h.pins[i].rule.Slots) {
			there = false
			h.fresh = h.fresh || !h.moving
		}
	}
	// A desk that does not stand still cannot be met: after time enough for
	// two full fades it gets its head back as it is.
	patience := time.Duration(2/min(g.limits.Rise, g.limits.Fall)*float64(time.Second)) + 10*time.Second
	if there || g.ending > patience && h.chased > 0 && g.time-h.chased < time.Second {
		h.taken, h.moving, h.fresh, h.arrived = false, false, false, false
	}
}

// paced tells whether a large step has to wait. While it waits the head stands.
func (h *head) paced(g *Governor) bool {
	big := false
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != StrobeSlot {
			d := a.light(h.goal[i]) - a.cur
			big = big || d >= bigStep || d <= -bigStep
		}
	}
	if !big || g.stage != Running || h.calm {
		return false // ends and rests are not put off
	}
	if h.everBig && g.time-h.lastBig < g.limits.Pace {
		g.shut(h)
		h.moving = false
		return true
	}
	h.everBig, h.lastBig = true, g.time
	return false
}

// start chooses the next leg towards the goal and begins it.
func (g *Governor) start(h *head) {
	g.shut(h)
	h.leg = legGoal
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.Kind != StrobeSlot {
			a.way = h.goal[i]
		}
	}
	switch {
	case h.wantsPins(g):
		h.leg = legDark
		for i := range h.axes {
			a := &h.axes[i]
			switch {
			case a.rule.Kind == Dimmer, a.rule.Kind == Emitter && h.dimmer < 0:
				a.way = 0
			case a.rule.Kind != StrobeSlot:
				a.way = a.code
			}
		}
	case max(h.peak(), h.light(false)) > h.ceiling():
		h.leg = legFall
		for i := range h.axes {
			a := &h.axes[i]
			if a.rule.Kind == Dimmer || a.rule.Kind == Emitter {
				a.way = min(a.way, a.code)
			}
		}
		if g.limits.PeopleAloft && g.stage == Running && h.lightAlong() < g.limits.KeepLight*h.base {
			h.refuse(g, ErrAloft.Error())
			return
		}
	}
	h.aim()
}

// ceiling is the most light on a line: the cap, or what the desk is owed.
func (h *head) ceiling() float64 {
	if h.resting {
		return max(h.cap, h.lightOf(h.goal))
	}
	if h.tired {
		return h.cap * restShare
	}
	return h.cap
}

// lightAlong is the light at the end of the leg.
func (h *head) lightAlong() float64 {
	for i := range h.axes {
		h.axes[i].next = h.axes[i].way
	}
	return h.light(true)
}

// wantsPins tells whether pins have to change their value.
func (h *head) wantsPins(g *Governor) bool {
	if g.stage == Running {
		return !h.pinned()
	}
	n := g.unis[h.spec.Universe]
	for i := range h.pins {
		if !n.own && h.pins[i].code != get(&n.desk, h.pins[i].rule.Slots) {
			return true
		}
	}
	return false
}

// advance moves a head along its line, as far as dt and the flash guard allow.
func (g *Governor) advance(h *head, n *universe, now time.Time, dt time.Duration) {
	s := min(h.s+h.stride(dt, &g.limits), 1)
	end := s >= 1-1e-12
	for i := range h.axes {
		a := &h.axes[i]
		switch {
		case a.rule.Kind == StrobeSlot:
		case end:
			a.next = a.way
		default:
			a.next = a.nearest(a.at(s))
		}
	}
	seen, sw := h.watch()
	if sw != ([laws]swings{}) && !g.guard.try(&sw, g.time, g.budget(), g.waiting != nil && g.waiting != h) {
		if g.held++; g.waiting == nil {
			g.waiting = h
		}
		return
	}
	g.unwait(h)
	h.s, h.seen = s, seen
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind == StrobeSlot {
			continue
		}
		a.code = a.next
		a.cur = a.at(s)
		if end {
			a.cur = a.to
		}
		if a.rule.Red {
			a.seen.see(a.share(a.code), SwingLight-near)
		}
	}
	if end {
		g.landed(h, n, now)
	}
}

// unwait gives up the place of the head that waits longest for its next swing.
func (g *Governor) unwait(h *head) {
	if g.waiting == h {
		g.waiting = nil
	}
}

// landed ends a leg.
func (g *Governor) landed(h *head, n *universe, now time.Time) {
	if h.leg == legDark {
		for i := range h.pins {
			p := &h.pins[i]
			if p.code = p.rule.Safe; g.stage != Running {
				p.code = get(&n.desk, p.rule.Slots)
			}
		}
	}
	if h.leg != legGoal {
		g.start(h)
		return
	}
	if !g.flashing(h) {
		return // stays on the line's end until the strobe may start
	}
	h.moving, h.calm = false, false
	if h.later {
		h.later, h.fresh = false, true
		h.capped = h.limit(h.wish, h.goal)
		return
	}
	h.arrived, h.arrivedAt = true, now
	g.notify()
}

// rest keeps the account of time at the cap, and ends it when it is used up.
func (g *Governor) rest(h *head, dt time.Duration) {
	at := h.light(false) >= fullShare*h.cap
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.UV && a.share(a.code) >= fullShare*a.rule.Cap {
			at = true
		}
	}
	if at && (h.mixes || h.dimmer >= 0) {
		h.full += dt
	} else {
		h.full = max(h.full-dt, 0)
	}
	switch {
	case !h.tired && h.full >= g.limits.MaxFullTime:
		h.tired = true
		var few [16]uint32
		less := append(few[:0], h.goal...)
		for i := range h.axes { // the mixture of the moment, only less of it
			less[i] = h.axes[i].code
		}
		h.limit(less, less)
		if g.limits.PeopleAloft && h.lightOf(less) < g.limits.KeepLight*h.base {
			return // light for people aloft comes before rest for the lamp
		}
		copy(h.goal, less)
		h.calm, h.capped, h.fresh, h.arrived = true, true, true, false
		h.held = fmt.Sprintf("it stood at its cap for %s and rests", span(g.limits.MaxFullTime))
		g.notify()
	case h.tired && h.full == 0:
		h.tired = false // rested; it goes up again only when somebody wishes so
	}
}

// finish looks whether the hand-over is complete.
func (g *Governor) finish() {
	if g.stage == Done {
		return
	}
	for _, h := range g.heads {
		if h.broken {
			continue
		}
		if h.rest != nil {
			if !h.resting || h.moving || h.fresh {
				return
			}
		} else if h.taken {
			return
		}
	}
	next := Done
	for _, n := range g.unis {
		if n.state == sacn.BaseLost || n.state == sacn.BaseTerminated {
			next = Waiting
		}
	}
	if next != g.stage {
		g.stage = next
		g.notify()
	}
}
