package session

import (
	"context"
	"fmt"
	"slices"
	"time"

	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// CompileByHand gives the lamps of a rig that a person sets, and the reference
// if it is a lamp that nobody can change. Head counts them as a HandWire does.
func CompileByHand(r *rig.Rig) ([]*Unit, error) {
	var units []*Unit
	n := 0
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		switch {
		case f.ByHand:
			b := builder{f: f, m: f.Mode, params: f.Mode.Params()}
			spec, err := b.spec(f.Name)
			if err != nil {
				return nil, fmt.Errorf("%s:%d:%d: fixture %q: %w", r.Path, f.Pos.Line, f.Pos.Col, f.Name, err)
			}
			u := &Unit{Unit: core.Unit{Info: info(f, f.Name), Head: n, Spec: spec, Level: b.solverLevel(), Headroom: 1, Settle: settle(f.Mode),
				SettleKnown: true,                              // a person takes longer than any lamp
				Rest:        b.rest(), Lit: b.lit()}, Settings: b.settings, Slots: func(solve.Drive) []SlotValue { return nil }}
			for _, p := range b.params {
				u.Info.Parameters = append(u.Info.Parameters, p.Name)
			}
			units = append(units, u)
			n++
		case f.Name == r.Target.Reference:
			units = append(units, &Unit{Unit: core.Unit{Info: info(f, f.Name), Head: -1}})
		}
	}
	if n == 0 {
		return nil, fmt.Errorf("%s: no fixture is set by hand (by_hand: true)", r.Path)
	}
	return units, nil
}

// HandStep is what a person is asked to set on one lamp. Was is nil the first
// time; after that only what changes needs to be touched.
type HandStep struct {
	Lamp     string
	Was, Set []Setting
}

// ErrSkip is what a person answers who leaves the lamp they were asked to set or to read.
var ErrSkip = feed.ErrSkip

// HandWire is a person as the wire: what is wished for is told to them, and it
// has arrived when they say so. It implements Wire.
type HandWire struct {
	units []*Unit
	ask   func(context.Context, HandStep) error
	wish  map[int]solve.Drive
	stood map[int]solve.Drive
}

// NewHandWire tells steps to ask, which returns when the person has set them,
// ErrSkip when they leave the lamp, or feed.ErrUndo when the last value they gave was wrong.
func NewHandWire(units []*Unit, ask func(context.Context, HandStep) error) *HandWire {
	return &HandWire{units: units, ask: ask, wish: map[int]solve.Drive{}, stood: map[int]solve.Drive{}}
}

func (w *HandWire) unit(head int) *Unit {
	for _, u := range w.units {
		if u.Head == head && head >= 0 {
			return u
		}
	}
	return nil
}

// Wish notes what is to be set.
func (w *HandWire) Wish(head int, codes []uint32) error {
	if u := w.unit(head); u == nil || len(codes) != len(u.Spec.Channels) {
		return fmt.Errorf("by hand: head %d can not take %d settings", head, len(codes))
	}
	w.wish[head] = slices.Clone(codes)
	return nil
}

// WaitArrived tells the person, and waits for as long as it takes.
func (w *HandWire) WaitArrived(ctx context.Context, head int) (time.Time, error) {
	u, codes := w.unit(head), w.wish[head]
	if u == nil || codes == nil {
		return time.Time{}, fmt.Errorf("by hand: nothing was wished of head %d", head)
	}
	if was := w.stood[head]; was == nil || !slices.Equal(was, codes) {
		if err := w.ask(ctx, HandStep{Lamp: u.Info.Name, Was: u.Settings(was), Set: u.Settings(codes)}); err != nil {
			return time.Time{}, err
		}
		w.stood[head] = codes
	}
	return time.Now(), nil
}

// Sent is what the person said that they had set.
func (w *HandWire) Sent(head int) []uint32 { return slices.Clone(w.stood[head]) }

// Alive has nobody to tell.
func (w *HandWire) Alive() {}
