package sacn

import (
	"context"
	"net/netip"

	"trueup/dmx"
)

type Sender struct{}

func NewSender(cfg SenderConfig) (*Sender, error)              { return &Sender{}, nil }
func (s *Sender) Run(ctx context.Context, frames Frames) error { <-ctx.Done(); return nil }
func (s *Sender) Wake(u dmx.Universe)                          {}

type Receiver struct{}

func NewReceiver(cfg ReceiverConfig) (*Receiver, error)                          { return &Receiver{}, nil }
func (r *Receiver) Run(ctx context.Context) error                                { <-ctx.Done(); return nil }
func (r *Receiver) LocalAddr() netip.AddrPort                                    { return netip.AddrPort{} }
func (r *Receiver) Levels(u dmx.Universe, dst *[512]byte) (slots int, live bool) { return 0, false }
func (r *Receiver) Sources() []SourceInfo                                        { return nil }

type Base struct{ *Receiver }

func NewBase(cfg ReceiverConfig) (*Base, error)                                  { return &Base{}, nil }
func (b *Base) Look(u dmx.Universe, dst *[512]byte) (slots int, state BaseState) { return 0, BaseNone }

// Survey listens for ListenTime (3 s) and returns the priority to send at (highest seen + 10, at most 200), or an error with the reason.
func (b *Base) Survey(ctx context.Context) (priority uint8, err error) { return 100, nil }

// Above lists live sources that claim priority or more.
func (b *Base) Above(priority uint8) []SourceInfo { return nil }
