package sacn

import (
	"net/netip"
	"time"

	"trueup/dmx"
)

// source is one CID on one universe (clause 5 of E1.31: "state is kept per
// CID and universe"). Its size is fixed: a stranger cannot make it grow.
type source struct {
	info     SourceInfo
	sequence uint8

	levels   [dmx.SlotsPerUniverse]byte
	slots    int       // the most it has ever given; beyond it nothing is given
	levelsAt time.Time // last live levels; zero: none

	perSlot   [dmx.SlotsPerUniverse]byte // 0xDD priorities; 0 = not this slot
	perSlotAt time.Time

	foreign bool // kept out of the merged look: another overlay of our kind

	rateFrom  time.Time
	rateCount int
}

// inOrder is the sequence rule (6.7.2): a packet that is up to 19 behind the
// last one is old, one that is further behind comes from a source that
// started again.
func inOrder(last, fresh uint8) bool {
	d := int8(fresh - last)
	return d > 0 || d <= -20
}

// live tells whether the source's levels count at now.
func (s *source) live(now time.Time) bool {
	return !s.foreign && s.info.Gone == 0 && !s.levelsAt.IsZero() && now.Sub(s.levelsAt) < dataLossTimeout
}

// ranksSlots tells whether its per-address priorities count at now.
func (s *source) ranksSlots(now time.Time) bool {
	return !s.perSlotAt.IsZero() && now.Sub(s.perSlotAt) < dataLossTimeout
}

// top is the highest priority it claims for any slot.
func (s *source) top(now time.Time) uint8 {
	if !s.ranksSlots(now) {
		return s.info.Priority
	}
	top := uint8(0)
	for _, p := range s.perSlot {
		top = max(top, p)
	}
	return top
}

// count keeps the statistics that people see.
func (s *source) count(now time.Time, from netip.Addr) {
	s.info.Packets++
	s.info.Last, s.info.From = now, from
	s.rateCount++
	if d := now.Sub(s.rateFrom); d >= time.Second {
		s.info.PerSecond = float64(s.rateCount) / d.Seconds()
		s.rateFrom, s.rateCount = now, 0
	}
}
