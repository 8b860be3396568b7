package check

import (
	"math"
	"time"

	"trueup/safety"
)

// slack covers floating point, nothing else.
const slack = 1e-7

// watched is one head under observation.
type watched struct {
	spec  *safety.Head
	known bool
	desks bool // the desk's show in the last frame
	codes []uint64
	light float64 // as declared
	start float64
	full  float64 // seconds at the cap
	views []*view
}

// view is one head as one truth has it.
type view struct {
	truth Truth
	// The fastest legal rise and fall from everything seen before.
	tops, bottoms []float64
	zig           zigzag
	params        []zigzag
	past          []state // since the last transition of red
	redDir        int
}

// head compares one head's frame with what came before, and gives its swings by
// truth.
func (c *Checker) head(now time.Time, h *watched, frame, base []byte, dt float64, overlay bool) [][]event {
	l := &c.cfg.Limits
	codes := make([]uint64, len(h.spec.Slots))
	same := overlay
	for i, r := range h.spec.Slots {
		codes[i] = code(frame, r)
		same = same && codes[i] == code(base, r)
	}
	if same && (h.desks || !h.known) { // the desk's show
		h.known, h.desks, h.codes = true, true, codes
		h.light = h.measure(frame, false, declared).light
		return nil
	}
	lo, hi := h.measure(frame, false, declared), h.measure(frame, true, declared)
	if !h.known || h.desks { // taken over, or first frame of own mode
		from := frame
		if overlay {
			from = base
		}
		h.begin(from)
		for i, r := range h.spec.Slots {
			h.codes[i] = code(from, r)
		}
		if overlay && dt == 0 { // the desk stood there before
			dt = 0.05
		}
	}
	c.caps(now, h, lo, codes, base, overlay)
	c.pins(now, h, codes, base, lo, overlay)
	c.strobes(now, h, codes)
	if !c.ending {
		if l.PeopleAloft && lo.light < l.KeepLight*h.start-(hi.light-lo.light)-slack {
			c.report(now, "aloft", h.spec.Name, "%.4f of full, less than %.2f of the %.4f at the start", lo.light, l.KeepLight, h.start)
		}
		c.fullTime(now, h, lo, codes, dt)
	}
	events := make([][]event, len(h.views))
	for k, v := range h.views {
		is := h.measure(frame, false, v.truth)
		c.rates(now, h, v, c.names[k], is, h.measure(frame, true, v.truth), dt)
		if c.names[k] != eachAnother {
			events[k] = v.swings(c.clock, h.spec, c.threshold(h, k), is)
		}
	}
	h.codes, h.light, h.desks = codes, lo.light, same
	return events
}

// threshold is the change of light that is a swing. Where a curve was not given and
// light is taken as the code, it is half of it.
func (c *Checker) threshold(h *watched, k int) float64 {
	for _, r := range h.spec.Slots {
		if k == 0 && len(c.truths) > 1 && (r.Kind == safety.Dimmer || r.Kind == safety.Emitter) && r.Curve == nil {
			return 0.05
		}
	}
	return 0.10
}

// begin stands a head on a frame.
func (h *watched) begin(from []byte) {
	light := h.measure(from, false, declared).light
	h.known, h.desks, h.light, h.start, h.full = true, false, light, light, 0
	h.codes = make([]uint64, len(h.spec.Slots))
	for _, v := range h.views {
		a, b := h.measure(from, false, v.truth), h.measure(from, true, v.truth)
		v.tops, v.bottoms = quantities(b), quantities(a)
		v.zig = zigzag{hi: a.light, lo: a.light}
		v.params = make([]zigzag, len(h.spec.Slots))
		for i := range v.params {
			v.params[i] = zigzag{hi: a.axes[i], lo: a.axes[i]}
		}
		v.past, v.redDir = nil, 0
		if a.colour {
			v.past = []state{a}
		}
	}
}

// quantities lists everything whose speed is limited: the sum, then axes and
// outputs of every slot.
func quantities(s state) []float64 {
	q := []float64{s.light}
	for i := range s.axes {
		q = append(q, s.axes[i], s.out[i])
	}
	return q
}

// rates: nothing rises or falls faster than its limit, measured from every
// earlier frame, not only the last.
func (c *Checker) rates(now time.Time, h *watched, v *view, truth string, lo, hi state, dt float64) {
	l := &c.cfg.Limits
	is, above := quantities(lo), quantities(hi)
	for i := range is {
		rise, fall, rule := l.Rise, l.Fall, ""
		name := "light of the head"
		if i > 0 {
			r := h.spec.Slots[(i-1)/2]
			name = r.Name
			if r.Kind == safety.Colour {
				rise, fall, rule = l.Colour, l.Colour, "colour"
			}
		}
		v.tops[i] += rise * dt
		v.bottoms[i] -= fall * dt
		if is[i] > v.tops[i]+slack {
			c.report(now, word(rule, "rise"), h.spec.Name, "%s (%s) at %.5f; with %.3g/s it cannot be above %.5f", name, truth, is[i], rise, v.tops[i])
			v.tops[i] = above[i]
		}
		if above[i] < v.bottoms[i]-slack {
			c.report(now, word(rule, "fall"), h.spec.Name, "%s (%s) at %.5f; with %.3g/s it cannot be below %.5f", name, truth, is[i], fall, v.bottoms[i])
			v.bottoms[i] = is[i]
		}
		v.tops[i] = math.Min(v.tops[i], above[i])
		v.bottoms[i] = math.Max(v.bottoms[i], is[i])
	}
}

func word(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// caps: nothing above its cap, except on the way down to it, or where the desk
// itself stands.
func (c *Checker) caps(now time.Time, h *watched, lo state, codes []uint64, base []byte, overlay bool) {
	limit := greatest(c.headCap(h.spec), h.light)
	if overlay {
		limit = greatest(limit, h.measure(base, false, declared).light)
	}
	if lo.light > limit+slack {
		c.report(now, "cap", h.spec.Name, "%.5f of full light; the cap is %.5f", lo.light, c.headCap(h.spec))
	}
	for i, r := range h.spec.Slots {
		if r.Kind != safety.Dimmer && r.Kind != safety.Emitter && r.Kind != safety.Colour {
			continue
		}
		most := greatest(c.topCode(r), float64(h.codes[i]))
		if overlay {
			most = greatest(most, float64(code(base, r)))
		}
		if float64(codes[i]) > most+slack {
			c.report(now, "cap", h.spec.Name, "%s at code %d; its cap is %.4g of its scale, code %.0f", r.Name, codes[i], c.axisCap(r), c.topCode(r))
		}
	}
}

// pins: held slots stand at their safe value; in an overlay they change only
// while the head is dark, and slots never to touch are the desk's.
func (c *Checker) pins(now time.Time, h *watched, codes []uint64, base []byte, lo state, overlay bool) {
	for i, r := range h.spec.Slots {
		safe, desk := uint64(r.Safe), code(base, r)
		switch {
		case r.Kind == safety.NeverTouch && overlay:
			if codes[i] != desk {
				c.report(now, "never", h.spec.Name, "%s carries %d, the desk has %d", r.Name, codes[i], desk)
			}
		case r.Kind == safety.NeverTouch:
			if codes[i] != safe {
				c.report(now, "never", h.spec.Name, "%s carries %d; safe is %d", r.Name, codes[i], safe)
			}
		case r.Kind == safety.Pinned || r.Kind == safety.StrobeSlot && !c.cfg.Limits.Strobe.Allowed:
			if !overlay && codes[i] != safe {
				c.report(now, "pinned", h.spec.Name, "%s carries %d; safe is %d", r.Name, codes[i], safe)
			}
			if overlay && codes[i] != h.codes[i] {
				if codes[i] != safe && codes[i] != desk {
					c.report(now, "pinned", h.spec.Name, "%s carries %d, neither safe (%d) nor the desk's (%d)", r.Name, codes[i], safe, desk)
				}
				if lo.light > 0.01 {
					c.report(now, "pinned", h.spec.Name, "%s changes from %d to %d while the head gives %.3f of its light", r.Name, h.codes[i], codes[i], lo.light)
				}
			}
		}
	}
}

// fullTime: a head stands at its cap for its time, and no longer.
func (c *Checker) fullTime(now time.Time, h *watched, lo state, codes []uint64, dt float64) {
	at := lo.light >= 0.95*c.headCap(h.spec) && lo.light <= c.headCap(h.spec)+slack
	makes := false
	for i, r := range h.spec.Slots {
		makes = makes || r.Kind == safety.Dimmer || r.Kind == safety.Emitter
		// What stands above its cap is on its way down from the desk's level.
		if share, most := shareOf(codes[i], r), c.axisCap(r); r.UV && share >= 0.95*most && float64(codes[i]) <= c.topCode(r) {
			at = true
		}
	}
	if !at || !makes {
		h.full = 0
		return
	}
	if c.cfg.Limits.PeopleAloft { // their light comes before rest for the lamp
		blind := false
		for _, r := range h.spec.Slots {
			blind = blind || r.UV
		}
		if blind || lo.light*0.7 < c.cfg.Limits.KeepLight*h.start {
			return
		}
	}
	h.full += dt
	// On its way down from the cap it may stay above 95 % for as long as a
	// part of a fade takes, and for a while of waiting for a swing.
	most := c.cfg.Limits.MaxFullTime.Seconds() + 0.5/c.cfg.Limits.Fall + 2.5
	if h.full > most {
		c.report(now, "full", h.spec.Name, "at its cap for %.1f s; the limit is %v", h.full, c.cfg.Limits.MaxFullTime)
		h.full = 0
	}
}
