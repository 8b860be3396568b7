package sacn

import (
	"net"

	"golang.org/x/net/ipv4"
)

// message is one datagram of a batch.
type message = ipv4.Message

// socketOut writes batches with one system call for many datagrams (sendmmsg).
// It serves IPv6 sockets as well: the address of each message names its family.
type socketOut struct {
	*net.UDPConn
	batch *ipv4.PacketConn
}

func newSocketOut(c *net.UDPConn) *socketOut { return &socketOut{c, ipv4.NewPacketConn(c)} }

// WriteBatch sends messages in order and returns how many left before an error.
func (o *socketOut) WriteBatch(ms []message) (int, error) { return o.batch.WriteBatch(ms, 0) }
