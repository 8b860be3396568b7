package sacn

import (
	"net/netip"
	"time"

	"trueup/dmx"
)

// Offsets and constants of E1.31-2018: root layer clause 5, framing layer 6,
// DMP layer 7, universe discovery 8. All integers are big-endian.
const (
	offRootLength   = 16
	offRootVector   = 18
	offCID          = 22
	offFrameLength  = 38
	offFrameVector  = 40
	offName         = 44
	offPriority     = 108
	offSync         = 109
	offSequence     = 111
	offOptions      = 112
	offUniverse     = 113
	offDMPLength    = 115
	offDMPVector    = 117
	offDMPType      = 118
	offFirstAddress = 119
	offIncrement    = 121
	offCount        = 123
	offStartCode    = 125
	offSlots        = 126

	offSyncSequence = 44
	offSyncAddress  = 45
	syncLength      = 49

	offDiscLength = 112
	offDiscVector = 114
	offPage       = 118
	offLastPage   = 119
	offList       = 120

	nameLength = 64

	dataLengthMin = offSlots
	dataLengthMax = offSlots + dmx.SlotsPerUniverse
	discLengthMax = offList + 2*universesPerPage

	universesPerPage = 512

	vectorData     = 4
	vectorExtended = 8
	vectorFrame    = 2
	vectorSync     = 1
	vectorDisc     = 2
	vectorUniverse = 1
	vectorDMP      = 2
	dmpType        = 0xa1

	optPreview    = 1 << 7
	optTerminated = 1 << 6
	optForceSync  = 1 << 5

	startLevels     = 0x00
	startPerAddress = 0xdd

	// MaxPriority is the highest priority that may be sent (6.2.3).
	MaxPriority = 200
	// DefaultPriority is that of a source without a choice (6.2.3).
	DefaultPriority = 100

	discoveryUniverse = 64214 // appendix A, E131_DISCOVERY_UNIVERSE
)

// Times of E1.31-2018, appendix A and clause 6.6, by the standard's names.
const (
	dataLossTimeout   = 2500 * time.Millisecond // E131_NETWORK_DATA_LOSS_TIMEOUT
	discoveryInterval = 10 * time.Second        // E131_UNIVERSE_DISCOVERY_INTERVAL

	// framePeriod is the shortest mean time between two packets of a universe:
	// E1.11 needs 22.68 ms for 512 slots, so 44 a second (6.6.1).
	framePeriod = time.Second / 44
	// keepAlive leaves room for a late tick below the 1000 ms of 6.6.2.
	keepAlive = 850 * time.Millisecond
	// settleRepeats equal packets follow a change before suppression (6.6.2).
	settleRepeats = 3
	// terminations is the number of Stream_Terminated packets (6.2.6).
	terminations = 3
)

// preamble is the first 16 bytes of every packet: sizes and ACN identifier.
var preamble = [16]byte{0x00, 0x10, 0x00, 0x00, 'A', 'S', 'C', '-', 'E', '1', '.', '1', '7', 0, 0, 0}

// group4 is the IPv4 group of a universe or synchronization address (9.3.1).
func group4(u uint16) netip.Addr { return netip.AddrFrom4([4]byte{239, 255, byte(u >> 8), byte(u)}) }

// group6 is the IPv6 group (9.3.2).
func group6(u uint16) netip.Addr {
	return netip.AddrFrom16([16]byte{0: 0xff, 1: 0x18, 12: 0x83, 13: 0x00, 14: byte(u >> 8), 15: byte(u)})
}
