package sacn

import (
	"net/netip"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
)

// Port is the UDP port of E1.31 (clause 9.1).
const Port = 5568

// SenderConfig is what a [Sender] needs to know. It is read once.
type SenderConfig struct {
	CID        CID    // who we are, the same for the life of the installation; our mark is put into it
	SourceName string // UTF-8, cut to 63 bytes at a character's edge
	Priority   uint8  // 0..200
	Preview    bool   // sets Preview_Data: receivers show nothing of it on stage

	// SyncAddress, if not 0, asks receivers to hold data until the
	// synchronization packet that follows each batch after SyncDelay.
	SyncAddress dmx.Universe
	SyncDelay   time.Duration // 0..20 ms

	Universes []dmx.Universe // the universes to send; at least one

	// Multicast sends to the group of each universe on every interface named.
	// With no name, the only multicast interface that is up is taken; if there
	// is more than one the choice is the user's, and NewSender says so.
	Multicast  bool
	Interfaces []string
	IP         IPVersions       // of multicast; a unicast address names its own
	Unicast    []netip.AddrPort // these receive every packet, beside multicast

	// Follow, if not nil, is the base that the frames are laid over: a change of
	// it goes out at once, and not with the next tick only.
	Follow *Base
	// Beside, if not nil, listens on the same network for the same program: it is
	// told what goes out, to know our own packets again. Follow is told as well.
	Beside *Receiver

	Log zerolog.Logger // says once that a way out is lost, and once that it is back
}

// ReceiverConfig is what a [Receiver] needs to know. It is read once.
type ReceiverConfig struct {
	// Listen is the address for unicast, and the port for multicast. The zero
	// value is every address of IP, IPv4 where it is both, at port 5568. Port 0 takes any free port.
	// An address with a port of its own and without Multicast is not shared with
	// other programs; everything else is opened with address reuse.
	Listen netip.AddrPort

	// Universes to take. Empty takes every universe that arrives, up to
	// MaxUniverses of them.
	Universes []dmx.Universe

	Multicast  bool       // join the groups of Universes
	Interfaces []string   // where to join; empty: every multicast interface that is up
	IP         IPVersions // to listen and join by; with Listen an address of the other version, that one as well
	TryIPv6    bool       // IPv6 as well where this machine has it; no error where it has not
	Discover   bool       // join the discovery group; with Universes empty, also what is announced there

	OwnCID CID // packets with this CID are dropped and counted; zero: none

	// OnChange is called after the merged look of a universe has changed, from
	// a receiving goroutine, without locks held. It must not block.
	OnChange func(u dmx.Universe)
	// OnEvent is called when a source appears, goes, or changes its priority;
	// same rules as OnChange.
	OnEvent func(Event)

	Log zerolog.Logger
}

// BaseState says how far the look of [Base.Look] can be trusted.
type BaseState uint8

const (
	BaseNone       BaseState = iota // no other source has ever been heard
	BaseLive                        // a source speaks; the look is what it shows
	BaseLost                        // every source fell silent for 2.5 s: its last look is held
	BaseTerminated                  // every source said goodbye: its last look is held
)

func (s BaseState) String() string {
	switch s {
	case BaseNone:
		return "no source"
	case BaseLive:
		return "live"
	case BaseLost:
		return "lost"
	case BaseTerminated:
		return "terminated"
	}
	return "unknown"
}
