package sacn

import (
	"time"

	"trueup/dmx"
)

// merge works out the universe's look at now: in every slot the highest
// priority wins, equal priorities by the highest level (6.2.3). A slot that no
// live source gives keeps the level it had. When no source is live the whole
// last look is kept.
func (u *universe) merge(now time.Time, res *result) {
	u.state = u.settle(now)
	if u.state != BaseLive || !u.heldSince.IsZero() {
		return
	}
	look, slots := u.look, 0
	var won [dmx.SlotsPerUniverse]int16 // 1 + the priority that won so far; 0 nobody
	for _, s := range u.sources {
		if !s.info.Live {
			continue
		}
		slots = max(slots, s.slots)
		per := s.ranksSlots(now)
		packet := int16(s.info.Priority) + 1
		for i := range s.slots {
			p := packet
			if per {
				if s.perSlot[i] == 0 {
					continue
				}
				p = int16(s.perSlot[i]) + 1
			}
			if p > won[i] || p == won[i] && s.levels[i] > look[i] {
				won[i], look[i] = p, s.levels[i]
			}
		}
	}
	slots = max(slots, u.slots) // a shorter look leaves slots as they were, it does not drop them
	if slots != u.slots || look != u.look {
		u.slots, u.look = slots, look
		res.changed = append(res.changed, u.number)
	}
}

// settle decides who is live, whether the look is held, and what state that is.
func (u *universe) settle(now time.Time) BaseState {
	others := 0
	for _, s := range u.sources {
		if s.live(now) && now.Sub(s.info.First) >= perSlotWait {
			others++
		}
	}
	live, spoken, gone := 0, true, EventKind(0)
	var goneAt time.Time
	for _, s := range u.sources {
		s.info.Live = s.live(now)
		if s.info.Live && s.perSlotAt.IsZero() && others > 0 && now.Sub(s.info.First) < perSlotWait {
			s.info.Live = false // a newcomer beside others: its 0xDD may be on the way
		}
		if s.info.Live {
			live++
			spoken = spoken && !s.levelsAt.Before(u.heldSince)
		}
		if s.info.Gone != 0 && !s.foreign && s.slots > 0 && !s.info.Last.Before(goneAt) {
			gone, goneAt = s.info.Gone, s.info.Last
		}
	}
	if live > 0 {
		if spoken {
			u.heldSince = time.Time{}
		}
		return BaseLive
	}
	u.heldSince = time.Time{}
	switch {
	case u.slots == 0:
		return BaseNone
	case gone == Terminated:
		return BaseTerminated
	case gone == Lost:
		return BaseLost
	case u.state == BaseTerminated:
		return BaseTerminated // the last record has been forgotten meanwhile
	}
	return BaseLost // it speaks, but no live levels: preview, or other START codes
}
