package sacn

import (
	"fmt"
	"net/netip"
	"strconv"
	"time"

	"trueup/dmx"
)

// EventKind is what happened to a source.
type EventKind uint8

const (
	Appeared   EventKind = iota + 1 // first packet of a source on a universe
	Lost                            // 2.5 s without a packet (E1.31 6.7.1)
	Terminated                      // the source said goodbye (6.2.6)
	Reranked                        // its packet priority or its per-address priorities changed
	Refused                         // one source too many for the table
)

func (k EventKind) String() string {
	switch k {
	case Appeared:
		return "appeared"
	case Lost:
		return "lost"
	case Terminated:
		return "terminated"
	case Reranked:
		return "changed its priority"
	case Refused:
		return "refused"
	}
	return "unknown"
}

// Event is one change in the table of sources.
type Event struct {
	At       time.Time
	Kind     EventKind
	Universe dmx.Universe
	Source   SourceInfo
}

func (e Event) String() string {
	return fmt.Sprintf("universe %d: source %s (priority %d) %s", e.Universe, strconv.Quote(e.Source.Name), e.Source.Top, e.Kind)
}

// SourceInfo is one source on one universe as it stands. Name comes from the
// network: quote it before it reaches a terminal, a log or a page.
type SourceInfo struct {
	CID      CID
	Name     string
	From     netip.Addr
	Universe dmx.Universe

	Priority   uint8 // of the packets
	PerAddress bool  // sends 0xDD per-address priorities now
	Top        uint8 // the highest priority it claims for any slot

	Slots   int
	Preview bool
	Twin    bool         // carries our own CID and is not us: another program that took our identity
	Sync    dmx.Universe // synchronization address, 0 = none
	Live    bool         // takes part in the merged look
	Gone    EventKind    // Lost or Terminated, else 0

	PerSecond  float64 // data packets a second, over the last second or so
	Packets    uint64
	OutOfOrder uint64 // dropped by the sequence rule (6.7.2)
	Missed     uint64 // sequence numbers that never came
	First      time.Time
	Last       time.Time
}
