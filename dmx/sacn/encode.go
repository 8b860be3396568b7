package sacn

import (
	"encoding/binary"
	"strings"
	"unicode/utf8"

	"trueup/dmx"
)

var be = binary.BigEndian

// flagsLength is the flags-and-length word: 0x7 and the bytes from here to the end.
func flagsLength(n int) uint16 { return 0x7000 | uint16(n) }

// putRoot writes the root layer of a packet of len(b) bytes.
func putRoot(b []byte, vector uint32, cid CID) {
	copy(b, preamble[:])
	be.PutUint16(b[offRootLength:], flagsLength(len(b)-offRootLength))
	be.PutUint32(b[offRootVector:], vector)
	copy(b[offCID:], cid[:])
}

// cutName shortens a source name to what fits beside the closing NUL, at a
// character's edge. Bytes that are not UTF-8 become U+FFFD, and a NUL, which
// would end the name early, is left out.
func cutName(name string) string {
	name = strings.ReplaceAll(strings.ToValidUTF8(name, "\uFFFD"), "\x00", "")
	for len(name) > nameLength-1 {
		_, n := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-n]
	}
	return name
}

// dataPacket is one data packet, built once and then changed in place, so that
// a frame costs no allocation.
type dataPacket struct {
	buf [dataLengthMax]byte
	n   int // slots
}

// init writes everything that stays for the life of a stream.
func (p *dataPacket) init(cid CID, name string, priority uint8, sync, u dmx.Universe) {
	p.buf = [dataLengthMax]byte{}
	putRoot(p.buf[:], vectorData, cid)
	be.PutUint32(p.buf[offFrameVector:], vectorFrame)
	copy(p.buf[offName:offName+nameLength-1], cutName(name))
	p.buf[offPriority] = priority
	be.PutUint16(p.buf[offSync:], uint16(sync))
	be.PutUint16(p.buf[offUniverse:], uint16(u))
	p.buf[offDMPVector] = vectorDMP
	p.buf[offDMPType] = dmpType
	be.PutUint16(p.buf[offIncrement:], 1)
	p.setSlots(dmx.SlotsPerUniverse)
}

// setSlots sets the number of slots, 1..512, and the four lengths that follow from it.
func (p *dataPacket) setSlots(n int) {
	if n == p.n {
		return
	}
	p.n = n
	end := offSlots + n
	be.PutUint16(p.buf[offRootLength:], flagsLength(end-offRootLength))
	be.PutUint16(p.buf[offFrameLength:], flagsLength(end-offFrameLength))
	be.PutUint16(p.buf[offDMPLength:], flagsLength(end-offDMPLength))
	be.PutUint16(p.buf[offCount:], uint16(n+1))
}

// levels is where the slots are; all 512, sent or not.
func (p *dataPacket) levels() *[dmx.SlotsPerUniverse]byte {
	return (*[dmx.SlotsPerUniverse]byte)(p.buf[offSlots:])
}

// bytes is the packet as it goes out.
func (p *dataPacket) bytes() []byte { return p.buf[:offSlots+p.n] }

// syncPacket builds a synchronization packet (6.3).
func syncPacket(cid CID, address dmx.Universe) []byte {
	b := make([]byte, syncLength)
	putRoot(b, vectorExtended, cid)
	be.PutUint16(b[offFrameLength:], flagsLength(syncLength-offFrameLength))
	be.PutUint32(b[offFrameVector:], vectorSync)
	be.PutUint16(b[offSyncAddress:], uint16(address))
	return b
}

// discoveryPackets builds the pages of a discovery set (clause 8). list is
// ascending and without doubles; an empty list makes one empty page.
func discoveryPackets(cid CID, name string, list []dmx.Universe) [][]byte {
	last := max(0, (len(list)-1)/universesPerPage)
	pages := make([][]byte, 0, last+1)
	for page := 0; page <= last; page++ {
		part := list[page*universesPerPage : min(len(list), (page+1)*universesPerPage)]
		b := make([]byte, offList+2*len(part))
		putRoot(b, vectorExtended, cid)
		be.PutUint16(b[offFrameLength:], flagsLength(len(b)-offFrameLength))
		be.PutUint32(b[offFrameVector:], vectorDisc)
		copy(b[offName:offName+nameLength-1], cutName(name))
		be.PutUint16(b[offDiscLength:], flagsLength(len(b)-offDiscLength))
		be.PutUint32(b[offDiscVector:], vectorUniverse)
		b[offPage], b[offLastPage] = byte(page), byte(last)
		for i, u := range part {
			be.PutUint16(b[offList+2*i:], uint16(u))
		}
		pages = append(pages, b)
	}
	return pages
}
