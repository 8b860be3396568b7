//go:build !linux

package sacn

import (
	"net"
	"time"
)

// message is one datagram of a batch.
type message struct {
	Buffers [][]byte
	Addr    net.Addr
}

// socketOut writes a batch one datagram after the other: this system has no
// call for many.
type socketOut struct{ *net.UDPConn }

func newSocketOut(c *net.UDPConn) (*socketOut, error) { return &socketOut{c}, nil }

// WriteBatch implements out. Where until has passed a millisecond is left: a
// write that begins behind its deadline would not be made at all.
func (o *socketOut) WriteBatch(ms []message, until time.Time) (int, error) {
	if least := time.Now().Add(time.Millisecond); until.Before(least) {
		until = least
	}
	if err := o.SetWriteDeadline(until); err != nil {
		return 0, err
	}
	for i, m := range ms {
		addr, ok := m.Addr.(*net.UDPAddr)
		if !ok {
			return i, net.InvalidAddrError("not a UDP address")
		}
		if _, err := o.WriteToUDP(m.Buffers[0], addr); err != nil {
			return i, err
		}
	}
	return len(ms), nil
}
