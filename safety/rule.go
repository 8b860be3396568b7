package safety

import (
	"errors"
	"fmt"
	"math"

	"trueup/dmx"
)

// Kind says what a parameter does to the light. The zero Kind is not valid.
type Kind uint8

// The kinds. Dimmer, Emitter and Colour are movable; a Strobe is movable only
// when a person allowed strobing.
const (
	_          Kind = iota
	Dimmer          // scales the whole head's light; at most one to a head
	Emitter         // one emitter's level
	Colour          // CCT, tint, x, y, hue, saturation: colour without level
	Pinned          // shutter, effect, macro, wheel: held at Safe
	NeverTouch      // reset, lamp, and the like: Safe in own mode, the desk's own value in an overlay
	StrobeSlot      // flash rate: Safe is open; see StrobeRange
)

// SlotRule is what the governor knows of one parameter of a head.
type SlotRule struct {
	Name string // for messages
	Kind Kind
	// Slots of the head's universe that carry the code, coarse first: one to
	// four of them, big-endian. They need not be neighbours.
	Slots []dmx.Slot
	// Max is the highest code: 255, 65535, 16777215 or 4294967295, as Slots has it.
	Max uint32
	// Lo and Hi are the ends of the scale of a Dimmer, an Emitter or a Colour: dark and
	// full, or the ends of its colour range; Hi 0 is all codes. Curve and Cap speak of
	// shares of this scale. Beyond it light is that of the ends, and a colour goes on to
	// count as it does within.
	Lo, Hi uint32
	// Safe is the code of Pinned, NeverTouch and Strobe slots.
	Safe uint32
	// Curve of a Dimmer or Emitter: light by share of the scale. Nil is unknown.
	Curve Curve
	// Weight is an emitter's light at full beside the other emitters', in any
	// unit common to the head; all zero means equal.
	Weight float64
	// U, V is an emitter's chromaticity, CIE 1976 u'v'. Both 0: not known, and
	// then it counts as saturated red.
	U, V float64
	// UV marks an emitter below 420 nm or of unknown spectrum.
	UV bool
	// Cap is the highest share of the scale that may be sent; 0 is refused for UV,
	// and elsewhere means 1, which is any code.
	Cap float64
	// Red says of a Colour parameter that moving it can reach or leave
	// saturated red (hue, saturation, x, y). Every 10 % of its range there and
	// back then counts as swings.
	Red bool
	// Range of a Strobe slot: between LoCode and HiCode the rate runs
	// linearly from LoHz to HiHz. All other codes but Safe are refused.
	Range StrobeRange
}

// StrobeRange is the part of a shutter slot in which it flashes at a rate.
type StrobeRange struct {
	LoCode, HiCode uint32
	LoHz, HiHz     Hertz
}

// Head is one separately controlled light-emitting unit.
type Head struct {
	Name     string
	Universe dmx.Universe
	Slots    []SlotRule
	// Cap is the highest share of the head's full light: the tightest of
	// group and fixture. It is needed; 1 is "as the rig".
	Cap float64
}

// movable tells whether a wish has a code for the slot.
func (r *SlotRule) movable(strobe bool) bool {
	switch r.Kind {
	case Dimmer, Emitter, Colour:
		return true
	case StrobeSlot:
		return strobe
	}
	return false
}

func (r *SlotRule) check() error {
	if r.Kind < Dimmer || r.Kind > StrobeSlot {
		return fmt.Errorf("kind %d is none", r.Kind)
	}
	if n := len(r.Slots); n < 1 || n > 4 {
		return fmt.Errorf("%d slots: want 1..4, coarse first", n)
	}
	if want := uint32(1<<(8*len(r.Slots)) - 1); r.Max != want {
		return fmt.Errorf("highest code %d: %d slots carry %d", r.Max, len(r.Slots), want)
	}
	for _, s := range r.Slots {
		if !s.Valid() {
			return fmt.Errorf("slot %d is not in 1..%d", s, dmx.SlotsPerUniverse)
		}
	}
	if r.Hi > r.Max || r.Hi == 0 && r.Lo != 0 || r.Hi != 0 && r.Lo >= r.Hi {
		return fmt.Errorf("a scale from code %d to %d: want it to rise within 0..%d", r.Lo, r.Hi, r.Max)
	}
	if r.Safe > r.Max {
		return fmt.Errorf("safe value %d is above %d", r.Safe, r.Max)
	}
	if err := r.Curve.Check(); err != nil {
		return err
	}
	if !(r.Weight >= 0) || math.IsInf(r.Weight, 0) {
		return fmt.Errorf("weight %g: want 0 or more", r.Weight)
	}
	if !(r.Cap >= 0 && r.Cap <= 1) {
		return fmt.Errorf("cap %g: want 0..1", r.Cap)
	}
	if r.UV && (r.Kind != Emitter || r.Cap == 0) {
		return errors.New("a UV, violet or unknown emitter needs a cap of its own, above 0 and up to 1")
	}
	if !(r.U >= 0 && r.U < 1 && r.V >= 0 && r.V < 1) || (r.U == 0) != (r.V == 0) {
		return fmt.Errorf("chromaticity u'v' %g, %g is none", r.U, r.V)
	}
	if r.Kind == StrobeSlot {
		g := r.Range
		if g.LoCode > g.HiCode || g.HiCode > r.Max || !(g.LoHz > 0) || !(g.HiHz > 0) || g.HiHz > 1000 || g.LoHz > 1000 {
			return fmt.Errorf("strobe range %+v: want codes up to %d and rates above 0 Hz", g, r.Max)
		}
	}
	return nil
}

func (h *Head) check() error {
	if !h.Universe.Valid() {
		return fmt.Errorf("universe %d is not in 1..%d", h.Universe, dmx.MaxUniverse)
	}
	if !(h.Cap > 0 && h.Cap <= 1) {
		return fmt.Errorf("level cap %g: want above 0 and up to 1; a limit cannot be left out", h.Cap)
	}
	dimmers, weighed, emitters := 0, 0, 0
	for i := range h.Slots {
		r := &h.Slots[i]
		if err := r.check(); err != nil {
			return fmt.Errorf("%q: %w", r.Name, err)
		}
		switch r.Kind {
		case Dimmer:
			dimmers++
		case Emitter:
			emitters++
			if r.Weight > 0 {
				weighed++
			}
		}
	}
	if dimmers > 1 {
		return errors.New("two dimmers: one head has one")
	}
	if weighed > 0 && weighed < emitters {
		return errors.New("some emitters have a weight and some have none: give all or none")
	}
	return nil
}
