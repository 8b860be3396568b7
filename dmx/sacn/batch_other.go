//go:build !linux

package sacn

import "net"

// message is one datagram of a batch.
type message struct {
	Buffers [][]byte
	Addr    net.Addr
}

// socketOut writes a batch one datagram after the other: this system has no
// call for many.
type socketOut struct{ *net.UDPConn }

func newSocketOut(c *net.UDPConn) *socketOut { return &socketOut{c} }

// WriteBatch sends messages in order and returns how many left before an error.
func (o *socketOut) WriteBatch(ms []message) (int, error) {
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
