package sacn

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"trueup/dmx"
)

const (
	// ListenTime is how long an overlay listens before its first frame.
	ListenTime = 3 * time.Second
	// priorityStep is how far above the highest source an overlay goes.
	priorityStep = 10
)

// Base is what the desk shows: the merged look of all sources that are not of
// our kind. Our own packets are dropped by their CID; those of another
// installation are known by the mark in theirs, and shown but left out.
type Base struct{ *Receiver }

// NewBase opens a Base; cfg.OwnCID must be the CID that the sender will use.
// Run must be running before Survey and Look.
func NewBase(cfg ReceiverConfig) (*Base, error) {
	own := cfg.OwnCID.marked()
	if own == (CID{}) {
		return nil, fmt.Errorf("sACN input: an overlay must know its own CID, or it would feed on itself")
	}
	r, err := newReceiver(cfg, func(c CID) bool { return c.Ours() && c != own })
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

// Survey listens for ListenTime and returns the priority an overlay has to send
// at on universes: the highest that any source claims there, per-address
// priorities included, plus 10, at most 200; 100 where nobody speaks. It
// refuses, with the reason, when 200 is taken, when another overlay is at work
// on one of them, or when our own CID is in use by a program that sends. From
// then on the log tells of sources that rise to that priority, fall silent or end.
func (b *Base) Survey(ctx context.Context, universes []dmx.Universe) (priority uint8, err error) {
	wait := time.NewTimer(ListenTime)
	defer wait.Stop()
	select {
	case <-ctx.Done():
		return 0, ctx.Err()
	case <-wait.C:
	}
	asked := map[dmx.Universe]bool{}
	for _, u := range universes {
		asked[u] = true
	}
	top, heard := uint8(0), false
	for _, s := range b.Sources() {
		if !asked[s.Universe] || s.Gone != 0 {
			continue
		}
		if s.CID.Ours() {
			return 0, fmt.Errorf("universe %d: %s (%v) overlays it already; end that run first, or leave this universe to it",
				s.Universe, strconv.Quote(s.Name), s.From)
		}
		if s.Preview {
			continue
		}
		if s.Top >= MaxPriority {
			return 0, fmt.Errorf("universe %d: source %s (%v) sends at priority %d, and nothing can go above; lower it at the desk",
				s.Universe, strconv.Quote(s.Name), s.From, s.Top)
		}
		top, heard = max(top, s.Top), true
	}
	b.mu.Lock()
	ownSeen, ownOn := b.table.ownSeen, b.table.ownOn
	b.mu.Unlock()
	if !ownSeen.IsZero() && time.Since(ownSeen) < dataLossTimeout {
		return 0, fmt.Errorf("universe %d: somebody sends with our own CID: another run of this installation, or a copied CID file", ownOn)
	}
	priority = DefaultPriority
	if heard {
		priority = min(top+priorityStep, MaxPriority)
	}
	b.mu.Lock()
	b.notices.ours = priority
	b.mu.Unlock()
	return priority, nil
}

// Above lists the live sources that claim priority or more in any slot, beside
// our own: they own the light, and what a meter reads then is not our doing.
// Overlays of our kind are among them.
func (b *Base) Above(priority uint8) []SourceInfo {
	var list []SourceInfo
	for _, s := range b.Sources() {
		if s.Gone == 0 && !s.Preview && s.Top >= priority {
			list = append(list, s)
		}
	}
	return list
}
