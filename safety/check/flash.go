package check

import (
	"math"
	"time"

	"trueup/safety"
)

// event is one swing of one head.
type event struct {
	at  time.Duration
	red bool
	up  bool
}

// flicker is a flash rate that stood on the wire until some time.
type flicker struct {
	until time.Duration
	hz    float64
}

// zigzag finds swings: a change by the threshold from the last extreme, against
// the last swing.
type zigzag struct {
	hi, lo float64
	last   int
}

func (z *zigzag) next(v, threshold float64) int {
	z.hi, z.lo = math.Max(z.hi, v), math.Min(z.lo, v)
	if z.last != +1 && v-z.lo >= threshold {
		*z = zigzag{v, v, +1}
		return +1
	}
	if z.last != -1 && z.hi-v >= threshold {
		*z = zigzag{v, v, -1}
		return -1
	}
	return 0
}

// swings of one head in one frame, as one truth has it.
func (h *view) swings(now time.Duration, spec *safety.Head, threshold float64, s state) (events []event) {
	if d := h.zig.next(s.light, threshold); d != 0 {
		events = append(events, event{now, false, d > 0})
	}
	for i, r := range spec.Slots {
		if r.Kind == safety.Colour && r.Red {
			if d := h.params[i].next(s.axes[i], 0.10); d != 0 {
				events = append(events, event{now, true, d > 0})
			}
		}
	}
	if !s.colour {
		return events
	}
	for _, p := range h.past {
		if p.red != s.red && math.Hypot(p.u-s.u, p.v-s.v) > 0.2 {
			d := -1
			if s.red {
				d = +1
			}
			if d != h.redDir {
				events = append(events, event{now, true, d > 0})
				h.redDir = d
			}
			h.past = sameSide(h.past, s.red)
			break
		}
	}
	if n := len(h.past); n == 0 || math.Hypot(h.past[n-1].u-s.u, h.past[n-1].v-s.v) > 1e-3 || h.past[n-1].red != s.red {
		h.past = append(h.past, s)
	}
	if len(h.past) > 4000 {
		h.past = h.past[1:]
	}
	return events
}

// sameSide keeps the states on one side of the border of red.
func sameSide(past []state, red bool) (keep []state) {
	for _, p := range past {
		if p.red == red {
			keep = append(keep, p)
		}
	}
	return keep
}

// flashes: no second holds more than six opposing swings, over all heads, whatever
// the truth; fresh says under which of them something has swung just now.
func (c *Checker) flashes(now time.Time, fresh []bool) {
	strobe := 0.0
	keep := c.flick[:0]
	for _, f := range c.flick {
		if c.clock-f.until < time.Second {
			keep = append(keep, f)
			strobe = math.Max(strobe, f.hz)
		}
	}
	c.flick = keep
	for k, yes := range fresh {
		if yes {
			c.count(now, k, strobe)
		}
	}
}

// count the swings of the last second under one truth.
func (c *Checker) count(now time.Time, k int, strobe float64) {
	old := 0
	for old < len(c.events[k]) && c.clock-c.events[k][old].at >= time.Second {
		old++
	}
	c.events[k] = c.events[k][old:]
	light, red := alternations(c.events[k], false), alternations(c.events[k], true)
	c.opposing = max(c.opposing, light+red)
	if n := float64(light+red) + math.Ceil(2*strobe); n > 6 {
		rule := "flash"
		if red > 0 {
			rule = "red"
		}
		c.report(now, rule, "", "%d swings of light, %d of red and a strobe of %.3g Hz within one second (%s)", light, red, strobe, c.names[k])
	}
}

// alternations is the length of the up-down series in the events of one kind.
// Of the two orders that up and down in one frame may have, the one that makes the
// series shorter counts.
func alternations(events []event, red bool) (n int) {
	const either = 2
	last := 0 // +1 up, -1 down, either: what comes next decides
	for i := 0; i < len(events); {
		j, up, down := i, false, false
		for ; j < len(events) && events[j].at == events[i].at; j++ {
			if events[j].red == red {
				up, down = up || events[j].up, down || !events[j].up
			}
		}
		i = j
		d := -1
		if up {
			d = +1
		}
		switch {
		case !up && !down:
		case up && down && last == 0:
			n, last = n+2, either
		case up && down && last == either:
			n++
		case up && down:
			n, last = n+1, -last
		case last == either:
			last = d
		case last != d:
			n, last = n+1, d
		}
	}
	return n
}

// strobes: the flash rates of all heads together stay below the limit.
func (c *Checker) strobes(now time.Time, h *watched, codes []uint64) {
	if !c.cfg.Limits.Strobe.Allowed {
		return
	}
	hz := 0.0
	for i, r := range h.spec.Slots {
		if r.Kind != safety.StrobeSlot || codes[i] == uint64(r.Safe) {
			continue
		}
		lo, hi := float64(r.Range.LoCode), float64(r.Range.HiCode)
		at := float64(codes[i])
		if at < lo || at > hi {
			c.report(now, "strobe", h.spec.Name, "%s carries %d, which is no known rate", r.Name, codes[i])
			continue
		}
		if hi > lo {
			hz += float64(r.Range.LoHz) + (at-lo)/(hi-lo)*float64(r.Range.HiHz-r.Range.LoHz)
		} else {
			hz += math.Max(float64(r.Range.LoHz), float64(r.Range.HiHz))
		}
	}
	c.hz[h] = hz
	sum := 0.0
	for _, v := range c.hz {
		sum += v
	}
	if sum > math.Min(float64(c.cfg.Limits.Strobe.Max), 3)+slack {
		c.report(now, "strobe", h.spec.Name, "all heads together flash at %.3g Hz; the limit is %v", sum, c.cfg.Limits.Strobe.Max)
	}
	if sum > 0 {
		c.flick = append(c.flick, flicker{c.clock, sum})
	}
}
