package main

import (
	"context"
	"encoding/binary"
	"net"
	"time"
)

// desk is a lighting desk of the simplest kind: one universe, one look, and a
// fade on slot 300 that never stops. Its packets are built here from the
// standard's own table, so that they do not come from the code under test.
type desk struct {
	conn  *net.UDPConn
	to    []*net.UDPAddr
	slots [512]byte
	seq   byte
	cid   string
	// priority of the packets; 0 is the customary 100
	priority byte
	fade     []time.Time // when slot 300 went to each of its values, from 1 up
}

func (d *desk) packet() []byte {
	b := make([]byte, 126+512)
	put := binary.BigEndian.PutUint16
	put(b[0:], 0x10)
	copy(b[4:], "ASC-E1.17\x00\x00\x00")
	put(b[16:], 0x7000|uint16(110+512))
	b[21] = 4
	copy(b[22:38], "a desk of test..")
	if d.cid != "" {
		copy(b[22:38], d.cid)
	}
	put(b[38:], 0x7000|uint16(88+512))
	b[43] = 2
	copy(b[44:], "desk")
	b[108] = 100
	if d.priority > 0 {
		b[108] = d.priority
	}
	b[111] = d.seq
	put(b[113:], 1)
	put(b[115:], 0x7000|uint16(11+512))
	b[117], b[118] = 0x02, 0xa1
	put(b[121:], 1)
	put(b[123:], 513)
	copy(b[126:], d.slots[:])
	return b
}

// run sends 20 frames a second until ctx ends.
func (d *desk) run(ctx context.Context) {
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		d.seq++
		d.fade = append(d.fade, time.Now())
		d.slots[299] = byte(len(d.fade))
		for _, a := range d.to {
			d.conn.WriteToUDP(d.packet(), a)
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
