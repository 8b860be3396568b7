package sacn

import (
	"time"

	"trueup/dmx"
)

// announcer decides when a sender's list of universes is said (clause 8 and
// 4.3): every 10 s, and once more in between when the list has changed.
type announcer struct {
	said    bool
	changed bool
	extra   bool // the one extra set of this interval has gone
	next    time.Time
}

func (a *announcer) due(now time.Time) bool {
	regular := a.said && !now.Before(a.next)
	if !regular && (!a.changed || a.extra) {
		return false
	}
	if regular || !a.said {
		a.next = now.Add(discoveryInterval)
		a.extra = false
	} else {
		a.extra = true
	}
	a.said, a.changed = true, false
	return true
}

// active lists the universes that are being sent, and the synchronization
// address, ascending.
func (s *Sender) active() []dmx.Universe {
	var list []dmx.Universe
	sync := s.cfg.SyncAddress
	for _, st := range s.streams {
		if !st.started {
			continue
		}
		if sync != 0 && sync < st.universe {
			list = append(list, sync)
		}
		if sync <= st.universe {
			sync = 0
		}
		list = append(list, st.universe)
	}
	if sync != 0 && len(list) > 0 {
		list = append(list, sync)
	}
	return list
}

// announce sends the list to the discovery group. Unicast receivers are told
// nothing: discovery is for multicast (clause 8).
func (s *Sender) announce(now time.Time, list []dmx.Universe) {
	s.mu.Lock()
	defer s.mu.Unlock()
	pages := discoveryPackets(s.cfg.CID, s.cfg.SourceName, list)
	again := false
	for _, l := range s.links {
		if !l.group {
			continue
		}
		l.owed = nil
		for _, p := range pages {
			l.owed = append(l.owed, message{Buffers: [][]byte{p}, Addr: l.to(discoveryUniverse)})
		}
		again = l.sayOwed(now) || again
	}
	if again {
		s.sayAgain()
	}
}

// sayOwed sends the announcement that a link owes; what does not get out is
// owed on, for the next one is ten seconds away.
func (l *link) sayOwed(now time.Time) (recovered bool) {
	recovered = l.send(now, l.owed)
	if l.state.Up {
		l.owed = nil
	}
	return recovered
}
