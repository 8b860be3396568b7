package sacn

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

	"trueup/dmx"
)

// ListenTime is how long we listen before our first frame.
const ListenTime = 3 * time.Second

// OneAbove asks [Base.Survey] for the least priority that lies above every
// source heard. No more than that: a backup of the desk's, silent until it is
// needed, shall lie above us when it comes.
const OneAbove = -1

// Base is what the desk shows: the merged look of all sources that are not of
// our kind. Our own packets are known again and dropped; those of another
// installation are known by the mark in theirs, and shown but left out.
type Base struct{ *Receiver }

// NewBase opens a Base; cfg.OwnCID must be the CID that the sender will use.
// Run must be running before Survey and Look.
func NewBase(cfg ReceiverConfig) (*Base, error) {
	if cfg.OwnCID == (CID{}) {
		return nil, fmt.Errorf("sACN input: an overlay must know its own CID, or it would feed on itself")
	}
	if len(cfg.Universes) == 0 {
		return nil, fmt.Errorf("sACN input: an overlay must name its universes")
	}
	r, err := newReceiver(cfg, CID.Ours, newOutbox(cfg.Universes))
	if err != nil {
		return nil, err
	}
	return &Base{r}, nil
}

// Look copies the base look of u to dst and says how far it can be trusted.
// slots is the desk's slot count, 0 with BaseNone. The look of a desk that is
// lost or has terminated is held.
func (b *Base) Look(u dmx.Universe, dst *[512]byte) (slots int, state BaseState) {
	return b.look(u, dst)
}

// follow calls f at every change of a look until the returned function is called.
func (b *Base) follow(f func(dmx.Universe)) (stop func()) {
	b.follower.Store(&f)
	return func() { b.follower.Store(nil) }
}

// Survey listens for ListenTime and returns the priority an overlay sends at on
// universes: want, or with OneAbove one above the highest that any source claims
// there (see [SourceInfo.Claim]), and 100 where nobody speaks. It refuses, with
// the reason, when want is not above all of them or 200 is taken, when another
// overlay is at work on one of the universes, or when our own CID is in use by
// another program. From then on the log tells of sources that rise to that
// priority, fall silent or end.
func (b *Base) Survey(ctx context.Context, universes []dmx.Universe, want int) (priority uint8, err error) {
	if err := listenFor(ctx, ListenTime); err != nil {
		return 0, err
	}
	var heard []SourceInfo
	for _, s := range b.Sources() {
		if slices.Contains(universes, s.Universe) {
			heard = append(heard, s)
		}
	}
	if priority, err = overlayPriority(heard, want); err != nil {
		return 0, err
	}
	b.mu.Lock()
	b.notices.ours = priority
	b.mu.Unlock()
	return priority, nil
}

// overlayPriority is the decision of Survey.
func overlayPriority(heard []SourceInfo, want int) (uint8, error) {
	priority := uint8(DefaultPriority)
	if want != OneAbove {
		priority = uint8(want)
	}
	above := false
	for _, s := range heard {
		switch {
		case s.Twin && s.contends(0):
			return 0, contended([]SourceInfo{s}, priority)
		case s.Gone != 0 || s.Preview || s.Twin:
			continue
		case s.CID.Ours():
			return 0, fmt.Errorf("universe %d: %s (%v) overlays it already; end that run first, or leave this universe to it",
				s.Universe, strconv.Quote(s.Name), s.From)
		case s.Claim() >= MaxPriority:
			return 0, fmt.Errorf("universe %d: source %s (%v) sends at priority %d, and nothing can go above; lower it at the desk",
				s.Universe, strconv.Quote(s.Name), s.From, s.Claim())
		case want != OneAbove && s.Claim() >= priority:
			return 0, fmt.Errorf("universe %d: source %s (%v) sends at priority %d, and priority %d is not above it: receivers would go on showing that source. Write a priority of %d to %d, or none, which takes one above the highest heard",
				s.Universe, strconv.Quote(s.Name), s.From, s.Claim(), priority, s.Claim()+1, MaxPriority)
		case want == OneAbove && (!above || s.Claim() >= priority):
			priority, above = s.Claim()+1, true
		}
	}
	return priority, nil
}

// Above lists the live sources that claim priority or more in any slot, beside
// our own: they own the light, and what a meter reads then is not our doing.
// Overlays of our kind are among them, and programs that took our CID.
func (b *Base) Above(priority uint8) []SourceInfo {
	var list []SourceInfo
	for _, s := range b.Sources() {
		if s.contends(priority) {
			list = append(list, s)
		}
	}
	return list
}
