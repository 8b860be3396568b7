package check

import (
	"encoding/binary"
	"time"

	"trueup/dmx"
)

// Packet takes a captured datagram. E1.31 data packets with START code 0 become
// frames; after a goodbye of a universe, levels on it are a violation. Others
// are left alone. Offsets are those of E1.31-2018, tables 4-1 to 4-3.
func (c *Checker) Packet(now time.Time, b []byte, desk []byte) {
	if len(b) < 127 || string(b[4:16]) != "ASC-E1.17\x00\x00\x00" || binary.BigEndian.Uint32(b[18:]) != 4 ||
		binary.BigEndian.Uint32(b[40:]) != 2 || b[117] != 2 || b[125] != 0 {
		return
	}
	u := dmx.Universe(binary.BigEndian.Uint16(b[113:]))
	n := int(binary.BigEndian.Uint16(b[123:])) - 1
	if n < 1 || n > 512 || len(b) < 126+n {
		c.report(now, "stream", "", "universe %d: a packet of %d bytes says it has %d slots", u, len(b), n)
		return
	}
	if b[112]&0x40 != 0 { // Stream_Terminated: its levels mean nothing (6.2.6)
		c.gone[u] = true
		return
	}
	if c.gone[u] {
		c.report(now, "stream", "", "universe %d: levels after a goodbye", u)
	}
	c.Frame(now, u, b[126:126+n], desk)
}

// Terminated tells whether the stream of every universe seen has said goodbye.
func (c *Checker) Terminated() bool {
	for u := range c.last {
		if !c.gone[u] {
			return false
		}
	}
	return len(c.last) > 0
}
