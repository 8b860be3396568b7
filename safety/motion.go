package safety

import (
	"math"
	"time"
)

// axis is one movable slot in motion. from, to and cur are light (fraction of
// the emitter's or dimmer's full), or for colour parameters the share of range.
type axis struct {
	rule          *SlotRule
	max           float64
	weight        float64 // share of the head's full light; emitters only
	x, y, z       float64 // tristimulus values at full, for the red rule
	from, to, cur float64
	way           uint32 // code at the end of the leg
	code          uint32 // on the wire
	next          uint32 // candidate of this frame
	seen          turns  // for colour parameters marked Red
}

func (a *axis) light(code uint32) float64 {
	d := float64(code) / a.max
	if a.rule.Kind == Colour {
		return d
	}
	return a.rule.Curve.light(d)
}

// nearest code to a value, never above it for what makes light.
func (a *axis) nearest(v float64) uint32 {
	if a.rule.Kind == Colour {
		return uint32(math.Round(v * a.max))
	}
	return a.below(v, 1e-6)
}

// below is the highest code that gives no more than v.
func (a *axis) below(v, slack float64) uint32 {
	return uint32(min(math.Floor(a.rule.Curve.drive(v)*a.max+slack), a.max))
}

// aim starts a straight line, in light, from where the head is to the ways of
// its axes: a mixture between two mixtures, all axes in step.
func (h *head) aim(l *Limits) {
	h.s, h.rate, h.cross = 0, math.Inf(1), false
	dims, mixes := false, false
	for i := range h.axes {
		a := &h.axes[i]
		a.from = a.cur
		if a.rule.Kind == StrobeSlot {
			continue
		}
		a.to = a.light(a.way)
		d := a.to - a.from
		if d == 0 {
			continue
		}
		dims = dims || a.rule.Kind == Dimmer
		mixes = mixes || a.rule.Kind == Emitter
		h.rate = min(h.rate, h.speed(a, d, l)/math.Abs(d))
	}
	h.cross = dims && mixes
	h.moving = true
}

// speed of one axis in its direction, per second.
func (h *head) speed(a *axis, d float64, l *Limits) float64 {
	if a.rule.Kind == Colour {
		return l.Colour
	}
	if d > 0 {
		return l.Rise / h.gain
	}
	return l.Fall / h.gain
}

// stride is how far along the line dt leads. Emitter times dimmer is a product:
// where both move, no emitter's output and not their sum may be faster than a
// single axis. The slope of the product is linear along the line, so its worst
// is at an end of the stride.
func (h *head) stride(dt time.Duration, l *Limits) float64 {
	t := dt.Seconds()
	if math.IsInf(h.rate, 1) {
		return 1
	}
	ds := min(h.rate*t, 1-h.s)
	if !h.cross {
		return ds
	}
	worst := math.Max(h.slope(h.s, l), h.slope(h.s+ds, l))
	if worst*ds > t {
		ds = t / worst
	}
	return ds
}

// slope is the longest time that any output needs per unit of the line at s.
func (h *head) slope(s float64, l *Limits) float64 {
	dim := &h.axes[h.dimmer]
	dd := dim.to - dim.from
	d := dim.from + s*dd
	cost := func(p float64) float64 {
		if p > 0 {
			return p * h.gain / l.Rise
		}
		return -p * h.gain / l.Fall
	}
	sum, worst := 0.0, 0.0
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != Emitter {
			continue
		}
		de := a.to - a.from
		p := dd*(a.from+s*de) + d*de
		sum += a.weight * p
		worst = max(worst, cost(p))
	}
	return max(worst, cost(sum))
}

// peak is the most light on the line between where the head is and its ways.
func (h *head) peak() float64 {
	if h.dimmer < 0 {
		return 0
	}
	var e0, e1 float64
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.Kind == Emitter {
			e0 += a.weight * a.cur
			e1 += a.weight * a.light(a.way)
		}
	}
	if !h.mixes {
		return 0 // one factor only: the ends are the extremes
	}
	dim := &h.axes[h.dimmer]
	d0, d1 := dim.cur, dim.light(dim.way)
	dd, de := d1-d0, e1-e0
	if dd*de >= 0 {
		return 0 // rises or falls all the way
	}
	s := -(dd*e0 + de*d0) / (2 * dd * de)
	if s <= 0 || s >= 1 {
		return 0
	}
	return (d0 + s*dd) * (e0 + s*de)
}

// light of the head at the codes of its axes: those on the wire, or, with
// next, the candidates. Without emitters the dimmer alone is the light.
func (h *head) light(next bool) (sum float64) {
	d, e := 1.0, 1.0
	if h.mixes {
		e = 0
	}
	for i := range h.axes {
		a := &h.axes[i]
		c := a.code
		if next {
			c = a.next
		}
		switch a.rule.Kind {
		case Dimmer:
			d = a.light(c)
		case Emitter:
			e += a.weight * a.light(c)
		}
	}
	return d * e
}

// watch looks at the candidates with the flash rules and returns the trackers
// as they will be if the candidates are sent.
func (h *head) watch(light float64) (turns, reds, swings) {
	t, c := h.seen, h.red
	var s swings
	switch t.see(light, h.swing) {
	case 1:
		s.lightUp = true
	case -1:
		s.lightDown = true
	}
	if h.mixes && light >= darkBelow {
		var x, y, z float64
		for i := range h.axes {
			if a := &h.axes[i]; a.rule.Kind == Emitter {
				e := a.light(a.next)
				x, y, z = x+e*a.x, y+e*a.y, z+e*a.z
			}
		}
		switch c.see(x, y, z) {
		case 1:
			s.redUp = true
		case -1:
			s.redDown = true
		}
	}
	if h.reddens {
		for i := range h.axes {
			a := &h.axes[i]
			if a.rule.Kind != Colour || !a.rule.Red {
				continue
			}
			t := a.seen
			switch t.see(float64(a.next)/a.max, SwingLight-near) {
			case 1:
				s.redUp = true
			case -1:
				s.redDown = true
			}
		}
	}
	return t, c, s
}
