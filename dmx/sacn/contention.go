package sacn

import (
	"context"
	"fmt"
	"time"

	"trueup/dmx"
)

// Contention listens for other sources on universes that a run means to have to
// itself, before it sends and for as long as it sends. It listens by multicast
// and for what comes to this machine, whichever way the run sends.
type Contention struct {
	*Receiver
	priority uint8
}

// NewContention opens a Contention for a stream at priority; cfg names the
// universes, the interfaces and the CID of the sender. Run must be running
// before Survey and Watch, and [SenderConfig].Beside must be its Receiver.
func NewContention(cfg ReceiverConfig, priority uint8) (*Contention, error) {
	if cfg.OwnCID == (CID{}) || len(cfg.Universes) == 0 {
		return nil, fmt.Errorf("sACN input: who listens for others beside itself must know its own CID and universes")
	}
	cfg.Multicast = true
	r, err := newReceiver(cfg, CID.Ours, newOutbox(cfg.Universes))
	if err != nil {
		return nil, err
	}
	return &Contention{r, priority}, nil
}

// Survey listens for [ListenTime] and refuses, with the names, where another
// source is at or above our priority, where another run of our kind is at work
// at any priority, or where our own CID is in use. Others below our priority
// are returned: their levels will not show while we send.
func (c *Contention) Survey(ctx context.Context) (below []SourceInfo, err error) {
	if err := listenFor(ctx, ListenTime); err != nil {
		return nil, err
	}
	all := c.Sources()
	if err := contended(contenders(all, c.priority, false), c.priority); err != nil {
		return nil, err
	}
	for _, s := range all {
		if s.Gone == 0 && !s.Preview {
			below = append(below, s)
		}
	}
	return below, nil
}

// Watch waits until another source stands at or above our priority, or sends
// with our CID, and returns an error that wraps [ErrContended] and names it; nil
// when ctx ends before.
func (c *Contention) Watch(ctx context.Context) error {
	look := time.NewTicker(sweepEvery)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-look.C:
			if err := contended(contenders(c.Sources(), c.priority, true), c.priority); err != nil {
				return err
			}
		}
	}
}

func listenFor(ctx context.Context, d time.Duration) error {
	wait := time.NewTimer(d)
	defer wait.Stop()
	select {
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-wait.C:
		return nil
	}
}

// note is what a sender beside this receiver says before a packet of u goes out.
func (r *Receiver) note(u dmx.Universe, packet []byte) {
	if r.table.sent != nil {
		r.table.sent.note(u, packet)
	}
}
