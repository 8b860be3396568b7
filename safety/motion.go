package safety

import (
	"math"
	"time"
)

// axis is one movable slot in motion. from, to and cur are light (fraction of
// the emitter's or dimmer's full), or for colour parameters the share of range.
type axis struct {
	rule          *SlotRule
	lo, span      float64 // lowest code of its scale, and how many codes it spans
	weight        float64 // share of the head's full light; emitters only
	x, y, z       float64 // tristimulus values at full, for the red rule
	pace          pace    // of the family that its response is of; light only
	paced         float64 // pace at cur, while it moves
	from, to, cur float64
	way           uint32        // code at the end of the leg
	code          uint32        // on the wire
	next          uint32        // candidate of this frame
	seen          turns         // for colour parameters marked Red
	bends         [laws]float64 // light of the code at bentAt, by law
	bentAt        uint32
	bent          bool
}

// newAxis is the slot of a rule, with its scale: all codes where the rule states none.
func newAxis(r *SlotRule) axis {
	a := axis{rule: r, lo: float64(r.Lo), span: float64(r.Hi) - float64(r.Lo)}
	if r.Hi == 0 {
		a.span = float64(r.Max)
	}
	return a
}

// share of its scale that a code stands for; of a code beyond the scale it is below 0
// or above 1.
func (a *axis) share(code uint32) float64 { return (float64(code) - a.lo) / a.span }

func (a *axis) light(code uint32) float64 {
	d := a.share(code)
	if a.rule.Kind == Colour {
		return d
	}
	return a.rule.Curve.light(min(max(d, 0), 1))
}

// nearest code to a value, never above it for what makes light.
func (a *axis) nearest(v float64) uint32 {
	if a.rule.Kind == Colour {
		return uint32(math.Round(a.lo + v*a.span))
	}
	return a.below(v, 1e-6)
}

// below is the highest code that gives no more than v.
func (a *axis) below(v, slack float64) uint32 {
	return uint32(min(math.Floor(a.lo+a.rule.Curve.drive(v)*a.span+slack), float64(a.rule.Max)))
}

// aim starts a straight line, in light, from where the head is to the ways of
// its axes: a mixture between two mixtures, all axes in step.
func (h *head) aim() {
	h.s, h.cross = 0, false
	dims, mixes := false, false
	for i := range h.axes {
		a := &h.axes[i]
		a.from = a.cur
		if a.rule.Kind == StrobeSlot {
			continue
		}
		a.to = a.light(a.way)
		dims = dims || a.rule.Kind == Dimmer && a.to != a.from
		mixes = mixes || a.rule.Kind == Emitter && a.to != a.from
	}
	h.cross = dims && mixes
	h.moving = true
}

// stride is how far along the line dt leads: no axis may be faster than its
// limit, whatever member of its family it is. Emitter times dimmer is a product:
// where both move, no emitter's output may be faster either. Their sum, weighted,
// then is not.
func (h *head) stride(dt time.Duration, l *Limits) float64 {
	t := dt.Seconds()
	ds := 1 - h.s
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.Kind != StrobeSlot && a.to != a.from {
			ds = min(ds, max(a.reach(t, l)-h.s, 0))
		}
	}
	if !h.cross {
		return ds
	}
	// The time that a stride needs falls a little slower than the stride does, for
	// near the dark the pace is steep; two or three rounds do.
	for range 6 {
		need := h.need(h.s+ds, l)
		if need <= t*(1+near) {
			break
		}
		ds *= 0.9999 * t / need
	}
	return ds
}

// reach is the place on the line that the axis can be at in t seconds.
func (a *axis) reach(t float64, l *Limits) float64 {
	d := a.to - a.from
	if a.rule.Kind == Colour {
		return (a.cur - a.from + math.Copysign(l.Colour*t, d)) / d
	}
	rate := l.Rise
	if d < 0 {
		rate = -l.Fall
	}
	a.paced = a.pace.of(a.cur)
	return (a.pace.back(a.paced+rate*t) - a.from) / d
}

// need is the longest time that the output of any emitter needs from where it is
// to place s of the line. With dimmer D and emitter E, from 1 to 2, the output changes
// by D2 (E2-E1) + E1 (D2-D1), or the same with the indices the other way: each
// difference is bounded by its pace, each factor by the brightest of its family.
func (h *head) need(s float64, l *Limits) (seconds float64) {
	dim := &h.axes[h.dimmer]
	d1, d2 := dim.cur, dim.at(s)
	dp := dim.pace.of(d2) - dim.paced
	bright := dim.brightest(max(d1, d2))
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != Emitter || a.to == a.from && dp == 0 {
			continue
		}
		e1, e2 := a.cur, a.cur
		change := 0.0
		if a.to != a.from {
			e2 = a.at(s)
			change = a.pace.of(e2) - a.paced
		}
		if change*dp < 0 {
			continue // neither adds to the other, and each has its own limit
		}
		change = bright*change + a.brightest(min(e1, e2))*dp
		seconds = max(seconds, change/l.Rise, -change/l.Fall)
	}
	return seconds
}

// at is the light of the axis at a place of the line.
func (a *axis) at(s float64) float64 { return a.from + s*(a.to-a.from) }

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
