package sacn

import (
	"errors"
	"net"
	"time"

	"golang.org/x/net/ipv4"
	"golang.org/x/sys/unix"
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

// WriteBatch implements out. The first try does not wait, so that it is made
// even where until has passed.
func (o *socketOut) WriteBatch(ms []message, until time.Time) (int, error) {
	n, err := o.batch.WriteBatch(ms, unix.MSG_DONTWAIT)
	if n > 0 || !errors.Is(err, unix.EAGAIN) {
		return n, err
	}
	if err := o.SetWriteDeadline(until); err != nil {
		return 0, err
	}
	n, err = o.batch.WriteBatch(ms, 0)
	if cleared := o.SetWriteDeadline(time.Time{}); err == nil {
		err = cleared
	}
	return n, err
}
