package safety

import (
	"time"

	"trueup/dmx"
)

// pin is a slot that is held, with the code that is held now.
type pin struct {
	rule *SlotRule
	code uint32
}

// head is the state of one head.
type head struct {
	spec    Head
	axes    []axis // the movable slots, in order
	pins    []pin  // Pinned and, unless allowed, Strobe
	never   []pin  // NeverTouch
	dimmer  int    // index into axes, -1 = none
	mixes   bool   // has emitters
	reddens bool   // has colour parameters marked Red
	swing   float64
	cap     float64

	taken  bool     // ours now; else the desk's
	wish   []uint32 // as wished
	goal   []uint32 // as limited
	rest   []uint32 // own mode: the end
	fresh  bool     // the goal is newer than the line
	capped bool
	held   string // why the wish is not followed

	moving bool
	cross  bool
	s      float64
	leg    leg

	arrived   bool
	arrivedAt time.Time
	lastBig   time.Duration
	everBig   bool
	chased    time.Duration // when the desk last changed what we ramp to
	full      time.Duration // time at the cap, less time below it
	tired     bool
	calm      bool    // on the way down to rest: wishes wait
	later     bool    // a wish waits
	resting   bool    // the goal is the end of the run
	broken    bool    // a fault: stays where it is
	base      float64 // light when taken
	seen      trackers
}

// leg says what the line under way leads to.
type leg uint8

const (
	legGoal leg = iota // the goal
	legFall            // first down: the straight line would pass above the cap
	legDark            // first dark: a shutter has to change its value
)

func newHead(spec Head, l *Limits) *head {
	h := &head{spec: spec, dimmer: -1, swing: SwingLight - near, cap: min(spec.Cap, l.LevelCap)}
	total, emitters := 0.0, 0
	for i := range h.spec.Slots {
		if r := &h.spec.Slots[i]; r.Kind == Emitter {
			total += r.Weight
			emitters++
		}
	}
	for i := range h.spec.Slots {
		r := &h.spec.Slots[i]
		if r.Cap == 0 {
			r.Cap = 1
		}
		if r.UV {
			r.Cap = min(r.Cap, l.UVCap)
		}
		if !r.movable(l.Strobe.Allowed) {
			if r.Kind == NeverTouch {
				h.never = append(h.never, pin{r, r.Safe})
			} else {
				h.pins = append(h.pins, pin{r, r.Safe})
			}
			continue
		}
		a := newAxis(r)
		switch r.Kind {
		case Dimmer:
			h.dimmer = len(h.axes)
		case Emitter:
			h.mixes = true
			if a.weight = 1 / float64(emitters); total > 0 {
				a.weight = r.Weight / total
			}
			u, v := r.U, r.V
			if u == 0 {
				u, v = unknownU, unknownV
			}
			a.x, a.y, a.z = tristimulus(a.weight, u, v)
		case Colour:
			h.reddens = h.reddens || r.Red
		}
		a.pace = declaredPace
		if r.Curve == nil && (r.Kind == Dimmer || r.Kind == Emitter) {
			a.pace, h.swing = undeclaredPace, SwingUnknown-near
		}
		h.axes = append(h.axes, a)
	}
	h.wish, h.goal = make([]uint32, len(h.axes)), make([]uint32, len(h.axes))
	return h
}

func (h *head) top() (top int) {
	for i := range h.spec.Slots {
		for _, s := range h.spec.Slots[i].Slots {
			top = max(top, int(s))
		}
	}
	return top
}

// stand puts the head on a look without moving: nothing changes on the wire.
func (h *head) stand(look *[512]byte) {
	for i := range h.axes {
		a := &h.axes[i]
		a.code = get(look, a.rule.Slots)
		a.next = a.code
		if a.rule.Kind != StrobeSlot {
			a.cur = a.light(a.code)
		}
		a.seen.reset(a.share(a.code))
	}
	for i := range h.pins {
		h.pins[i].code = get(look, h.pins[i].rule.Slots)
	}
	h.base = h.light(false)
	h.begin()
	h.moving, h.fresh, h.arrived, h.leg = false, false, false, legGoal
	h.calm, h.later = false, false
}

// pinned tells whether all pins stand at their safe values.
func (h *head) pinned() bool {
	for i := range h.pins {
		if h.pins[i].code != h.pins[i].rule.Safe {
			return false
		}
	}
	return true
}

// lightOf some codes of the axes.
func (h *head) lightOf(codes []uint32) float64 {
	d, e := 1.0, 1.0
	if h.mixes {
		e = 0
	}
	for i := range h.axes {
		switch a := &h.axes[i]; a.rule.Kind {
		case Dimmer:
			d = a.light(codes[i])
		case Emitter:
			e += a.weight * a.light(codes[i])
		}
	}
	return d * e
}

// limit writes to out the codes that the caps leave of in (both may be one
// slice) and tells whether anything was taken off. All emitters are lowered
// together, so the colour stays.
func (h *head) limit(in, out []uint32) bool {
	bites := false
	k := 1.0
	for i := range h.axes {
		a := &h.axes[i]
		out[i] = min(in[i], a.rule.Max)
		most := h.most(a)
		if out[i] <= most || a.rule.Kind == StrobeSlot {
			continue
		}
		bites = true
		if l := a.light(out[i]); a.rule.Kind == Emitter && l > 0 {
			k = min(k, a.light(most)/l)
		} else {
			out[i] = most
		}
	}
	limit := h.cap
	if h.tired {
		limit *= restShare
	}
	if l := h.lightOf(out) * k; l > limit {
		bites = true
		if h.dimmer >= 0 {
			a := &h.axes[h.dimmer]
			out[h.dimmer] = a.below(a.light(out[h.dimmer])*limit/l, 0)
		} else {
			k *= limit / l
		}
	}
	if k < 1 {
		for i := range h.axes {
			a := &h.axes[i]
			if a.rule.Kind != Emitter {
				continue
			}
			out[i] = min(out[i], a.below(a.light(out[i])*k, 0), h.most(a))
		}
	}
	return bites
}

// most is the highest code that an axis's own cap leaves it.
func (h *head) most(a *axis) uint32 {
	share := a.rule.Cap
	if h.tired && a.rule.UV {
		share *= restShare
	}
	if share >= 1 {
		return a.rule.Max
	}
	return uint32(a.lo + share*a.span)
}

// write puts the head's codes into a frame. In own mode that includes the
// slots never to touch; in an overlay those are the desk's.
func (h *head) write(frame *[512]byte) {
	for i := range h.axes {
		put(frame, h.axes[i].rule.Slots, h.axes[i].code)
	}
	for i := range h.pins {
		put(frame, h.pins[i].rule.Slots, h.pins[i].code)
	}
	if h.rest != nil {
		for i := range h.never {
			put(frame, h.never[i].rule.Slots, h.never[i].code)
		}
	}
}

// keep puts the head's slots of an earlier frame into this one.
func (h *head) keep(from, frame *[512]byte) {
	for i := range h.spec.Slots {
		for _, s := range h.spec.Slots[i].Slots {
			frame[s-1] = from[s-1]
		}
	}
}

func get(f *[512]byte, slots []dmx.Slot) (code uint32) {
	for _, s := range slots {
		code = code<<8 | uint32(f[s-1])
	}
	return code
}

func put(f *[512]byte, slots []dmx.Slot, code uint32) {
	for i := len(slots) - 1; i >= 0; i-- {
		f[slots[i]-1] = byte(code)
		code >>= 8
	}
}
