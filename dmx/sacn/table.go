package sacn

import (
	"bytes"
	"cmp"
	"net/netip"
	"slices"
	"time"

	"trueup/dmx"
)

const (
	// MaxSources is how many sources are kept for one universe.
	MaxSources = 16
	// MaxUniverses is how many universes are kept when none were named.
	MaxUniverses = 1024
	// goneKept is how long a source that went is still shown.
	goneKept = 30 * time.Second
	// perSlotWait is how long the levels of a newcomer wait for its per-address
	// priorities where another source is live already.
	perSlotWait = 1500 * time.Millisecond
)

// table holds all that was heard. It reads no clock and takes no lock.
type table struct {
	own       CID
	isForeign func(CID) bool
	asked     bool // universes were named: others are dropped before any state is made
	universes map[dmx.Universe]*universe
	refused   [reasons]uint64
	sent      *outbox // what goes out with our own CID; nil: whatever carries it is taken for ours
	listings  listings
}

// universe is one universe as it is received.
type universe struct {
	number  dmx.Universe
	sources []*source
	look    [dmx.SlotsPerUniverse]byte
	slots   int
	state   BaseState
	// heldSince is when a source was lost by time-out while others remained. The
	// look is held until each of these has spoken or gone: a dead cable takes
	// them all, and must not flash the lower one's look.
	heldSince time.Time
}

func newTable(cfg ReceiverConfig, isForeign func(CID) bool, sent *outbox) *table {
	t := &table{own: cfg.OwnCID, isForeign: isForeign, sent: sent, asked: len(cfg.Universes) > 0, universes: map[dmx.Universe]*universe{}}
	for _, u := range cfg.Universes {
		t.universes[u] = &universe{number: u}
	}
	return t
}

// result is what a packet or the passing of time did.
type result struct {
	changed []dmx.Universe // whose merged look is another now
	events  []Event
}

// packet takes one datagram. It never fails: what is wrong is counted.
func (t *table) packet(now time.Time, from netip.Addr, b []byte, res *result) Reason {
	r := t.take(now, from, b, res)
	if r != Accepted {
		t.refused[r]++
	}
	return r
}

func (t *table) take(now time.Time, from netip.Addr, b []byte, res *result) Reason {
	k, r := gate(b)
	if r != Accepted {
		return r
	}
	twin := false
	if cid := CID(b[offCID : offCID+16]); cid == t.own && cid != (CID{}) {
		if twin = k == kindData && t.sent != nil && !t.sent.has(b); !twin {
			return OwnPacket
		}
	}
	switch k {
	case kindDiscovery:
		return t.listings.take(now, from, b)
	case kindSync:
		return Accepted // data is acted on at once; see the package comment
	}
	u := t.universes[dmx.Universe(be.Uint16(b[offUniverse:]))]
	if u == nil && t.asked {
		return NotAsked
	}
	v, ok := decodeData(b)
	if !ok {
		return BadLength
	}
	if v.start != startLevels && v.start != startPerAddress {
		return NotLevels
	}
	if u == nil {
		if v.terminated {
			return Unknown
		}
		if len(t.universes) >= MaxUniverses {
			return TooMany
		}
		u = &universe{number: v.universe}
		t.universes[v.universe] = u
	}
	return u.take(now, from, v, twin, t.isForeign, res)
}

// take is a data packet for this universe.
func (u *universe) take(now time.Time, from netip.Addr, v decodedData, twin bool, isForeign func(CID) bool, res *result) Reason {
	u.expire(now, res) // first, so that this packet cannot hide a loss
	s, r := u.source(now, v, isForeign, res)
	if s == nil {
		return r
	}
	fresh := s.info.Packets == 0 || s.info.Gone != 0
	if !fresh && !inOrder(s.sequence, v.sequence) {
		s.info.OutOfOrder++
		return OutOfOrder
	}
	if v.terminated {
		if s.info.Gone != 0 {
			return Unknown
		}
		s.sequence = v.sequence
		s.info.Last = now
		u.leave(now, s, Terminated, res)
		return Accepted
	}
	if fresh {
		s.begin(now, v.cid, u.number)
	} else if d := v.sequence - s.sequence; d < 128 {
		s.info.Missed += uint64(d - 1)
	}
	s.sequence = v.sequence
	s.count(now, from)
	before := s.info.Top
	s.info.Name, s.info.Priority = v.name, v.priority
	s.info.Preview, s.info.Sync, s.info.Twin = v.preview, v.sync, twin
	switch {
	case v.start == startPerAddress:
		clear(s.perSlot[copy(s.perSlot[:], v.slots):])
		s.perSlotAt = now
	case !v.preview:
		copy(s.levels[:], v.slots)
		s.slots = max(s.slots, len(v.slots))
		s.levelsAt = now
		s.info.Slots = len(v.slots)
	}
	s.info.Top, s.info.PerAddress = s.top(now), s.ranksSlots(now)
	if fresh {
		res.events = append(res.events, Event{now, Appeared, u.number, s.info})
	} else if s.info.Top != before {
		res.events = append(res.events, Event{now, Reranked, u.number, s.info})
	}
	u.merge(now, res)
	return Accepted
}

// source finds the state of v's sender, or makes it where the table has room.
func (u *universe) source(now time.Time, v decodedData, isForeign func(CID) bool, res *result) (*source, Reason) {
	for _, s := range u.sources {
		if s.info.CID == v.cid {
			return s, Accepted
		}
	}
	if v.terminated {
		return nil, Unknown
	}
	if len(u.sources) >= MaxSources {
		i := slices.IndexFunc(u.sources, func(s *source) bool { return s.info.Gone != 0 })
		if i < 0 {
			return nil, TooMany
		}
		u.sources = slices.Delete(u.sources, i, i+1)
	}
	s := &source{foreign: isForeign(v.cid)}
	s.info.CID = v.cid
	u.sources = append(u.sources, s)
	// The order of arrival must not matter to the result.
	slices.SortFunc(u.sources, func(a, b *source) int { return bytes.Compare(a.info.CID[:], b.info.CID[:]) })
	return s, Accepted
}

// begin makes the state of a source that appears, or comes back.
func (s *source) begin(now time.Time, cid CID, u dmx.Universe) {
	*s = source{foreign: s.foreign, rateFrom: now}
	s.info = SourceInfo{CID: cid, Universe: u, First: now}
}

// infos lists the sources of every universe, by universe and CID.
func (t *table) infos() []SourceInfo {
	var all []SourceInfo
	for _, u := range t.universes {
		for _, s := range u.sources {
			all = append(all, s.info)
		}
	}
	slices.SortFunc(all, func(a, b SourceInfo) int {
		return cmp.Or(cmp.Compare(a.Universe, b.Universe), bytes.Compare(a.CID[:], b.CID[:]))
	})
	return all
}
