package safety

import (
	"errors"
	"fmt"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// Desk is what the governor asks in overlay mode: the merged look of all other
// sources. A *[sacn.Base] is one.
type Desk interface {
	// Look writes slots 1..n of universe u and returns n. It must not block.
	Look(u dmx.Universe, dst *[512]byte) (slots int, state sacn.BaseState)
}

// Look is the levels of whole universes.
type Look map[dmx.Universe]*[512]byte

// Config is what a governor needs to know. It is read once.
type Config struct {
	Limits Limits
	Heads  []Head
	// Desk makes it an overlay: heads stand as the desk has them until they
	// are first wished for, and in the end again. Nil is own mode.
	Desk Desk
	// Start is, in own mode, the look of the first frame; what is not in it is
	// 0. Slots of no head stay 0 all the time.
	Start Look
	// Rest is, in own mode, the look to end on; nil means Start.
	Rest Look
	// Locked slots (house and work light) are never ours to send.
	Locked []SlotRange
}

// SlotRange is a run of slots in one universe, both ends included.
type SlotRange struct {
	Universe    dmx.Universe
	First, Last dmx.Slot
}

// universe is the state of one universe.
type universe struct {
	id    dmx.Universe
	heads []*head
	own   bool
	slots int // to send in own mode
	top   int // highest slot of a head
	frame [512]byte
	desk  [512]byte
	sent  [512]byte // the frame before
	clock boundedClock
	state sacn.BaseState // of the desk, as last seen
}

// NewGovernor checks the whole configuration; an error names every limit and
// head that is wrong.
func NewGovernor(cfg Config) (*Governor, error) {
	errs := []error{cfg.Limits.Check()}
	if cfg.Limits.PeopleAloft {
		cfg.Limits = cfg.Limits.Aloft()
	}
	g := &Governor{limits: cfg.Limits, desk: cfg.Desk, unis: map[dmx.Universe]*universe{}, changed: make(chan struct{})}
	if len(cfg.Heads) == 0 {
		errs = append(errs, errors.New("no head to govern"))
	}
	if cfg.Desk != nil && cfg.Limits.Strobe.Allowed {
		errs = append(errs, errors.New("a strobe function can be allowed in own mode only: in an overlay the shutters are the desk's"))
	}
	claims := claims{}
	for _, l := range cfg.Locked {
		if !l.Universe.Valid() || !l.First.Valid() || !l.Last.Valid() || l.First > l.Last {
			errs = append(errs, fmt.Errorf("locked slots %d/%d..%d are no range", l.Universe, l.First, l.Last))
		}
	}
	for i := range cfg.Heads {
		spec := cfg.Heads[i]
		spec.Slots = append([]SlotRule(nil), spec.Slots...)
		if err := spec.check(); err != nil {
			errs = append(errs, fmt.Errorf("head %q: %w", spec.Name, err))
			continue
		}
		errs = append(errs, claims.take(&spec, cfg.Locked)...)
		u := g.unis[spec.Universe]
		if u == nil {
			u = &universe{id: spec.Universe, own: cfg.Desk == nil}
			g.unis[spec.Universe] = u
		}
		h := newHead(spec, &g.limits)
		u.heads = append(u.heads, h)
		u.top = max(u.top, h.top())
		g.heads = append(g.heads, h)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	if cfg.Desk == nil {
		return g, g.seedOwn(cfg)
	}
	return g, nil
}

// claim says whose a slot is.
type claim struct {
	rule *SlotRule
	head string
}

// claims are all slots that some head has.
type claims map[dmx.Address]claim

// take claims a head's slots. What is locked can not be claimed; what another head
// has only where both hold it at one value.
func (c claims) take(h *Head, locked []SlotRange) (errs []error) {
	for j := range h.Slots {
		r := &h.Slots[j]
		for _, s := range r.Slots {
			at := dmx.Address{Universe: h.Universe, Slot: s}
			for _, l := range locked {
				if at.Universe == l.Universe && s >= l.First && s <= l.Last {
					errs = append(errs, fmt.Errorf("head %q, %q: slot %v is locked (house or work light): take the fixture out of the rig", h.Name, r.Name, at))
				}
			}
			if o := c[at]; o.rule != nil && !(o.rule.Kind == r.Kind && !o.rule.movable(true) && o.rule.Safe == r.Safe && len(o.rule.Slots) == len(r.Slots)) {
				errs = append(errs, fmt.Errorf("heads %q and %q both have slot %v", o.head, h.Name, at))
			}
			c[at] = claim{r, h.Name}
		}
	}
	return errs
}

// seedOwn stands every head on the start look.
func (g *Governor) seedOwn(cfg Config) error {
	if cfg.Rest == nil {
		cfg.Rest = cfg.Start
	}
	var errs, zero = []error{}, [512]byte{}
	for _, u := range g.unis {
		u.slots = dmx.SlotsPerUniverse
		for _, l := range cfg.Locked {
			if l.Universe != u.id {
				continue
			}
			u.slots = u.top // a packet that ends before the locked slots leaves them alone
			if int(l.First) <= u.top {
				errs = append(errs, fmt.Errorf("locked slots %d/%d..%d lie among slots we send: alone on the universe we would send 0 there; run as an overlay over the desk that holds them", l.Universe, l.First, l.Last))
			}
		}
		start, rest := cfg.Start[u.id], cfg.Rest[u.id]
		if start == nil {
			start = &zero
		}
		if rest == nil {
			rest = &zero
		}
		for _, h := range u.heads {
			g.seed(h, start, rest)
			if g.limits.PeopleAloft && h.lightOf(h.rest) < g.limits.KeepLight*h.base {
				errs = append(errs, fmt.Errorf("head %q: people are aloft and the look to end on is darker than %.3g of its light at the start", h.spec.Name, g.limits.KeepLight))
			}
			h.write(&u.frame)
		}
	}
	return errors.Join(errs...)
}

// seed stands a head on the start look and notes what it has to end on.
func (g *Governor) seed(h *head, start, rest *[512]byte) {
	h.stand(start)
	for i := range h.pins {
		h.pins[i].code = h.pins[i].rule.Safe
	}
	h.taken = true
	h.rest = make([]uint32, len(h.axes))
	g.shut(h)
	for i := range h.axes {
		if h.rest[i] = get(rest, h.axes[i].rule.Slots); h.axes[i].rule.Kind == StrobeSlot {
			h.rest[i] = h.axes[i].rule.Safe
		}
		h.wish[i] = h.axes[i].code
	}
	h.limit(h.rest, h.rest)
	// A start above the caps is brought down, not cut down.
	h.capped = h.limit(h.wish, h.goal)
	h.fresh = h.capped
}
