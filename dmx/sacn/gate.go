package sacn

import "bytes"

// kind is what a packet that passed the gate is.
type kind uint8

const (
	kindData kind = iota + 1
	kindSync
	kindDiscovery
)

// Reason says why a packet was refused or not acted on. Refusing is silent
// towards the network; [Receiver.Refused] has the counts.
type Reason uint8

const (
	Accepted    Reason = iota
	BadLength          // shorter or longer than its form, or a length field that lies
	BadPreamble        // not an ACN packet
	BadVector          // a root, framing or DMP vector that E1.31 does not have
	BadDMP             // address type, first address or increment
	BadCount           // a property count that does not fit the bytes
	BadUniverse        // universe or synchronization address out of range
	BadPriority        // packet priority or per-address priority above 200
	BadList            // a discovery list with an odd end, out of order, or a page beyond the last
	NotLevels          // a START code we do not read
	NotAsked           // a universe nobody asked for
	OwnPacket          // our own CID
	OutOfOrder         // the sequence rule (6.7.2)
	TooMany            // one source or universe more than the table holds
	Unknown            // a goodbye or a priority from a source that is not there
	reasons            // how many there are
)

var reasonText = [reasons]string{"accepted", "bad length", "not an ACN packet", "unknown vector", "bad DMP header",
	"bad property count", "universe out of range", "priority out of range", "bad discovery list", "START code not read",
	"universe not asked for", "our own packet", "out of order", "too many sources", "from nobody known"}

func (r Reason) String() string {
	if r < reasons {
		return reasonText[r]
	}
	return "unknown"
}

// gate checks every rule that one packet alone can break, before anything else
// looks at it: clauses 5 to 8, and house rules where the standard is silent
// (trailing bytes, priorities above 200). Only what passes may be read.
func gate(b []byte) (kind, Reason) {
	if len(b) < offFrameVector+4 {
		return 0, BadLength
	}
	if !bytes.Equal(b[:len(preamble)], preamble[:]) {
		return 0, BadPreamble
	}
	if !fills(b, offRootLength) || !fills(b, offFrameLength) {
		return 0, BadLength
	}
	frame := be.Uint32(b[offFrameVector:])
	switch be.Uint32(b[offRootVector:]) {
	case vectorData:
		if frame != vectorFrame {
			return 0, BadVector
		}
		return kindData, gateData(b)
	case vectorExtended:
		switch frame {
		case vectorSync:
			return kindSync, gateSync(b)
		case vectorDisc:
			return kindDiscovery, gateDiscovery(b)
		}
	}
	return 0, BadVector
}

// fills tells whether the flags-and-length word at off is 0x7 and reaches to
// the last byte there is.
func fills(b []byte, off int) bool {
	return int(be.Uint16(b[off:])) == 0x7000|(len(b)-off)&0x0fff
}

func gateData(b []byte) Reason {
	if len(b) < dataLengthMin || len(b) > dataLengthMax || !fills(b, offDMPLength) {
		return BadLength
	}
	if b[offDMPVector] != vectorDMP {
		return BadVector
	}
	if b[offDMPType] != dmpType || be.Uint16(b[offFirstAddress:]) != 0 || be.Uint16(b[offIncrement:]) != 1 {
		return BadDMP
	}
	if int(be.Uint16(b[offCount:])) != len(b)-offStartCode {
		return BadCount
	}
	if u := be.Uint16(b[offUniverse:]); u == 0 || u > 63999 {
		return BadUniverse
	}
	if be.Uint16(b[offSync:]) > 63999 {
		return BadUniverse
	}
	if b[offPriority] > MaxPriority {
		return BadPriority
	}
	if b[offStartCode] == startPerAddress {
		for _, p := range b[offSlots:] {
			if p > MaxPriority {
				return BadPriority
			}
		}
	}
	return Accepted
}

func gateSync(b []byte) Reason {
	if len(b) != syncLength {
		return BadLength
	}
	if a := be.Uint16(b[offSyncAddress:]); a == 0 || a > 63999 {
		return BadUniverse
	}
	return Accepted
}

func gateDiscovery(b []byte) Reason {
	if len(b) < offList || len(b) > discLengthMax || !fills(b, offDiscLength) {
		return BadLength
	}
	if be.Uint32(b[offDiscVector:]) != vectorUniverse {
		return BadVector
	}
	if b[offPage] > b[offLastPage] || len(b)%2 != 0 {
		return BadList
	}
	before := uint16(0)
	for i := offList; i < len(b); i += 2 {
		u := be.Uint16(b[i:])
		if u == 0 || u > 63999 {
			return BadUniverse
		}
		if u <= before {
			return BadList
		}
		before = u
	}
	return Accepted
}
