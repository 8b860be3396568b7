package stage

import (
	"context"
	"encoding/binary"
	"fmt"
	"net"
	"net/netip"
	"time"

	"trueup/dmx"
	"trueup/loop/session/rig"
)

// Desk plays a lighting desk on this machine, so that an overlay can be tried
// without one: the rig's fixtures at a fifth of their light, and a slow fade on
// every slot that is no fixture's. It makes its own packets (ANSI E1.31-2018,
// clauses 4 to 6) and shares no code with the sender under test.
type Desk struct {
	conn  *net.UDPConn
	to    []netip.AddrPort
	looks map[dmx.Universe]*deskLook
	seq   byte
}

type deskLook struct {
	slots [512]byte
	taken [512]bool // a fixture of the rig has it
}

// The desk's rate and the time of one of its fades, up and down again.
const (
	deskTick = 50 * time.Millisecond
	deskFade = 20 * time.Second
	deskPort = 5567 // that it sends from
)

// NewDesk plays a desk to the given receivers. Every one must be of this
// machine: no lamp is to see it.
func NewDesk(r *rig.Rig, to ...netip.AddrPort) (*Desk, error) {
	for _, a := range to {
		if !a.Addr().IsLoopback() || !a.Addr().Is4() {
			return nil, fmt.Errorf("the desk that is played sends to 127.0.0.0/8 only, not to %v", a)
		}
	}
	d := &Desk{to: to, looks: map[dmx.Universe]*deskLook{}}
	for i := range r.Fixtures {
		if err := d.place(&r.Fixtures[i]); err != nil {
			return nil, err
		}
	}
	// Always from the same port: two of them would be heard as one desk that contradicts itself.
	var err error
	if d.conn, err = net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1), Port: deskPort}); err != nil {
		return nil, fmt.Errorf("another stage on this machine plays a desk already, or another program has UDP 127.0.0.1:%d: end it, or start this stage without --desk", deskPort)
	}
	return d, nil
}

// place lights a fixture as its profile starts it, dimmers at a fifth.
func (d *Desk) place(f *rig.Fixture) error {
	if !f.Sent() {
		return nil
	}
	look := d.looks[f.Address.Universe]
	if look == nil {
		look = &deskLook{}
		d.looks[f.Address.Universe] = look
	}
	first := int(f.Address.Slot) - 1
	own := look.slots[first : first+f.Mode.Footprint]
	for i := range own {
		look.taken[first+i] = true
	}
	if err := f.Mode.Rest(own); err != nil {
		return err
	}
	params := f.Mode.Params()
	codes := make([]uint32, len(params))
	for i, p := range params {
		switch {
		case f.Mode.Dimmer != nil && p == f.Mode.Dimmer:
			codes[i] = p.Lo + (p.Hi-p.Lo)/5
		case p.Start != nil:
			codes[i] = *p.Start
		default:
			codes[i] = p.Lo + (p.Hi-p.Lo)/2
		}
	}
	for head := range max(1, f.Mode.Heads.Count) {
		if err := f.Mode.Encode(head, codes, own); err != nil {
			return err
		}
	}
	return nil
}

// Run sends until ctx ends, and returns nil. A receiver that is not there yet
// is no fault: a desk does not know either.
func (d *Desk) Run(ctx context.Context) error {
	defer d.conn.Close()
	t := time.NewTicker(deskTick)
	defer t.Stop()
	began := time.Now()
	for {
		d.seq++
		for u, look := range d.looks {
			look.fade(time.Since(began))
			p := deskPacket(u, d.seq, &look.slots)
			for _, to := range d.to {
				d.conn.WriteToUDPAddrPort(p, to)
			}
		}
		select {
		case <-t.C:
		case <-ctx.Done():
			return nil
		}
	}
}

// fade moves the free slots, each a little behind the one before it.
func (l *deskLook) fade(t time.Duration) {
	for i := range l.slots {
		if l.taken[i] {
			continue
		}
		at := (t + time.Duration(i)*deskFade/512) % deskFade
		up := min(at, deskFade-at)
		l.slots[i] = byte(255 * up / (deskFade / 2))
	}
}

// deskPacket is one E1.31 data packet of 512 slots (ANSI E1.31-2018, table 4-1).
func deskPacket(u dmx.Universe, seq byte, slots *[512]byte) []byte {
	b := make([]byte, 126+512)
	put := binary.BigEndian.PutUint16
	put(b[0:], 0x10)
	copy(b[4:], "ASC-E1.17\x00\x00\x00")
	put(b[16:], 0x7000|uint16(len(b)-16))
	b[21] = 4
	copy(b[22:38], "a desk, simulated"[:16])
	put(b[38:], 0x7000|uint16(len(b)-38))
	b[43] = 2
	copy(b[44:], "simulated desk")
	b[108] = 100
	b[111] = seq
	put(b[113:], uint16(u))
	put(b[115:], 0x7000|uint16(len(b)-115))
	b[117], b[118] = 0x02, 0xa1
	put(b[121:], 1)
	put(b[123:], 513)
	copy(b[126:], slots[:])
	return b
}
