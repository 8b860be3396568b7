package check

import (
	"fmt"
	"time"

	"trueup/dmx"
	"trueup/safety"
)

// Violation is one limit broken by one frame.
type Violation struct {
	At   time.Time
	Rule string // rise, fall, cap, flash, red, pinned, never, foreign, colour, aloft, full, strobe, end, stream
	Head string
	Text string
}

func (v Violation) String() string {
	return fmt.Sprintf("%s: %s: %s: %s", v.At.Format("15:04:05.000"), v.Rule, v.Head, v.Text)
}

// Checker reads the frames of one run in the order in which they were sent.
type Checker struct {
	cfg    safety.Config
	truths []Truth  // under each of which the speed and flash limits have to hold
	names  []string // of the truths
	heads  []*watched
	found  []Violation
	events [][]event // by truth
	// the most opposing swings that a second has held, whatever the truth
	opposing int
	ending   bool
	last     map[dmx.Universe][]byte
	desk     map[dmx.Universe][]byte
	prior    map[dmx.Universe]time.Time
	gone     map[dmx.Universe]bool
	hz       map[*watched]float64
	flick    []flicker
	seen     time.Time
	clock    time.Duration // time that has passed: it never runs backwards
}

// New returns a checker for a run with this configuration. Of the Desk only
// matters whether there is one. Speed and flashes are judged for every lamp that the
// written limits cover: by the declared curves and by what they leave open.
func New(cfg safety.Config) *Checker {
	c := newChecker(cfg)
	for _, f := range family {
		c.names, c.truths = append(c.names, f.name), append(c.truths, f.truth)
	}
	return c.ready()
}

// NewTrue is New for lamps of which it is known what they truly give: speed and
// flashes are judged by that alone.
func NewTrue(cfg safety.Config, truth Truth) *Checker {
	c := newChecker(cfg)
	c.names, c.truths = []string{"in truth"}, []Truth{truth}
	return c.ready()
}

func newChecker(cfg safety.Config) *Checker {
	if cfg.Limits.PeopleAloft { // as written: five seconds for a full fade
		cfg.Limits.Rise = least(cfg.Limits.Rise, 0.2)
		cfg.Limits.Fall = least(cfg.Limits.Fall, 0.2)
		cfg.Limits.Colour = least(cfg.Limits.Colour, 0.5)
	}
	c := &Checker{cfg: cfg, last: map[dmx.Universe][]byte{}, desk: map[dmx.Universe][]byte{},
		prior: map[dmx.Universe]time.Time{}, gone: map[dmx.Universe]bool{}, hz: map[*watched]float64{}}
	return c
}

// ready sets up what is kept for each head under each truth.
func (c *Checker) ready() *Checker {
	c.events = make([][]event, len(c.truths))
	for i := range c.cfg.Heads {
		h := &watched{spec: &c.cfg.Heads[i]}
		for _, t := range c.truths {
			h.views = append(h.views, &view{truth: t})
		}
		c.heads = append(c.heads, h)
	}
	return c
}

// Ending says that the run is being handed back: what holds for wishes only
// (time at full, people aloft) is over, the rest is not.
func (c *Checker) Ending() { c.ending = true }

// Opposing returns the most opposing swings, of light and of red and over all heads
// together, that any second held so far: a fade up is one, there and back is two.
func (c *Checker) Opposing() int { return c.opposing }

// Violations returns all that was found so far.
func (c *Checker) Violations() []Violation { return c.found }

func (c *Checker) report(at time.Time, rule, head, format string, args ...any) {
	if len(c.found) < 1000 { // enough for anyone
		c.found = append(c.found, Violation{at, rule, head, fmt.Sprintf(format, args...)})
	}
}

// Frame takes the levels of universe u as sent at now, and in an overlay what
// the desk showed then.
func (c *Checker) Frame(now time.Time, u dmx.Universe, levels, desk []byte) {
	overlay := c.cfg.Desk != nil
	if !c.seen.IsZero() && now.After(c.seen) {
		c.clock += now.Sub(c.seen)
	}
	c.seen = now
	frame, base := make([]byte, 512), make([]byte, 512)
	copy(frame, levels)
	copy(base, desk)
	dt := 0.0
	if t, ok := c.prior[u]; ok {
		dt = least(greatest(now.Sub(t).Seconds(), 0), 0.05)
		if overlay && now.Sub(t) > 2500*time.Millisecond {
			for _, h := range c.heads { // receivers have gone back to the desk
				h.known = h.known && h.spec.Universe != u
			}
		}
	}
	c.foreign(now, u, frame, base, levels, overlay)
	fresh := make([]bool, len(c.truths))
	for _, h := range c.heads {
		if h.spec.Universe == u {
			for k, events := range c.head(now, h, frame, base, dt, overlay) {
				c.events[k] = append(c.events[k], events...)
				fresh[k] = fresh[k] || len(events) > 0
			}
		}
	}
	c.flashes(now, fresh)
	c.last[u], c.desk[u], c.prior[u] = frame, base, now
}

// foreign looks at slots that are no head's.
func (c *Checker) foreign(now time.Time, u dmx.Universe, frame, base, levels []byte, overlay bool) {
	var used [513]bool
	for _, h := range c.heads {
		if h.spec.Universe == u {
			for _, r := range h.spec.Slots {
				for _, s := range r.Slots {
					used[s] = true
				}
			}
		}
	}
	for s := 1; s <= 512; s++ {
		want := byte(0)
		if overlay {
			want = base[s-1]
		}
		if !used[s] && frame[s-1] != want {
			c.report(now, "foreign", "", "slot %d/%d is no head's and carries %d, not %d", u, s, frame[s-1], want)
		}
	}
	for _, l := range c.cfg.Locked {
		if !overlay && l.Universe == u && len(levels) >= int(l.First) {
			c.report(now, "foreign", "", "the frame of universe %d reaches locked slot %d", u, l.First)
		}
	}
}

// End looks at how the run was left: on the desk's look, or on the rest look.
// Give it the heads' rest look in own mode; caps may have lowered it.
func (c *Checker) End(now time.Time, rest safety.Look) {
	for u, frame := range c.last {
		if c.cfg.Desk != nil {
			if string(frame) != string(c.desk[u]) {
				c.report(now, "end", "", "universe %d was not left as the desk shows it", u)
			}
			continue
		}
		want := make([]byte, 512)
		if r := rest[u]; r != nil {
			copy(want, r[:])
		}
		for _, h := range c.heads {
			if h.spec.Universe != u {
				continue
			}
			if c.capped(h, want) {
				continue
			}
			for _, r := range h.spec.Slots {
				if (r.Kind == safety.Dimmer || r.Kind == safety.Emitter || r.Kind == safety.Colour) && code(want, r) != code(frame, r) {
					c.report(now, "end", h.spec.Name, "%s was left at %d, not at %d", r.Name, code(frame, r), code(want, r))
				}
			}
		}
	}
}

// capped tells whether a cap forbids the head's part of a look.
func (c *Checker) capped(h *watched, look []byte) bool {
	for _, r := range h.spec.Slots {
		if r.Kind == safety.Dimmer || r.Kind == safety.Emitter || r.Kind == safety.Colour {
			if float64(code(look, r)) > c.topCode(r) {
				return true
			}
		}
	}
	return h.measure(look, false, declared).light > c.headCap(h.spec)
}

// axisCap is the share of its range that a slot may have.
func (c *Checker) axisCap(r safety.SlotRule) float64 {
	share := r.Cap
	if share == 0 {
		share = 1
	}
	if r.UV {
		share = least(share, c.cfg.Limits.UVCap)
	}
	return share
}

// topCode is the highest code that its cap leaves a slot.
func (c *Checker) topCode(r safety.SlotRule) float64 {
	share := c.axisCap(r)
	if share >= 1 {
		return float64(r.Max)
	}
	low, span := scaleOf(r)
	return low + share*span
}

func (c *Checker) headCap(h *safety.Head) float64 { return least(h.Cap, c.cfg.Limits.LevelCap) }

func least(a, b float64) float64 {
	if a < b {
		return a
	}
	return b
}

func greatest(a, b float64) float64 {
	if a > b {
		return a
	}
	return b
}
