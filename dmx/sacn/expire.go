package sacn

import (
	"slices"
	"time"
)

// leave marks a source as gone and merges what remains.
func (u *universe) leave(now time.Time, s *source, how EventKind, res *result) {
	was := s.live(s.info.Last) // it counted when it last spoke
	s.info.Gone, s.info.Live, s.info.PerSecond = how, false, 0
	res.events = append(res.events, Event{now, how, u.number, s.info})
	if how == Lost && was {
		u.heldSince = now
	}
	u.merge(now, res)
}

// expire looks for sources that fell silent. It is called a few times a second.
func (t *table) expire(now time.Time, res *result) {
	for _, u := range t.universes {
		u.expire(now, res)
		u.sources = slices.DeleteFunc(u.sources, func(s *source) bool {
			return s.info.Gone != 0 && now.Sub(s.info.Last) > goneKept
		})
		u.merge(now, res)
	}
	t.listings.expire(now)
}

// expire marks the sources of u that have been silent for too long.
func (u *universe) expire(now time.Time, res *result) {
	for _, s := range u.sources {
		if s.info.Gone != 0 || s.info.Packets == 0 {
			continue
		}
		if now.Sub(s.info.Last) >= dataLossTimeout {
			u.leave(now, s, Lost, res)
		} else if s.info.PerAddress && !s.ranksSlots(now) {
			s.info.PerAddress, s.info.Top = false, s.top(now)
			res.events = append(res.events, Event{now, Reranked, u.number, s.info})
		}
	}
}
