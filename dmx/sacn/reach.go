package sacn

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"syscall"
	"time"
)

// discardPort takes datagrams and throws them away (RFC 863).
const discardPort = 9

// reachTime is how long an unreachable receiver is given to be called so: three
// tries of a second each, as systems do before they give a neighbour up (RFC
// 4861, MAX_MULTICAST_SOLICIT and RETRANS_TIMER; Linux does the same for IPv4).
const reachTime = 3500 * time.Millisecond

// Reach tries the way to a unicast receiver: one empty datagram, which carries
// no levels, to its discard port. It returns the interface by which packets
// leave ("" where the system does not tell), and an error that says what is
// wrong: there is no route, the interface has no link, or the network says that
// nobody is there. A receiver that keeps silent, as most do, counts as reached:
// that it takes E1.31 can not be known without sending some. It takes up to
// 3.5 s, unless the receiver answers.
func Reach(ctx context.Context, to netip.AddrPort) (via string, err error) {
	at := netip.AddrPortFrom(to.Addr().Unmap(), discardPort)
	c, err := net.DialUDP("udp", nil, net.UDPAddrFromAddrPort(at))
	if err != nil {
		return "", fmt.Errorf("no route to %v: %w", to.Addr(), cause(err))
	}
	defer c.Close()
	via = routeTo(at)
	if via != "" {
		if err := HasLink(via); err != nil {
			return via, err
		}
	}
	hearErrors(c, at.Addr().Is6())
	stop := context.AfterFunc(ctx, func() { c.Close() })
	defer stop()
	c.SetReadDeadline(time.Now().Add(reachTime))
	if _, err := c.Write(nil); err != nil {
		return via, fmt.Errorf("%v can not be reached: %w", to.Addr(), cause(err))
	}
	var b [1]byte
	_, err = c.Read(b[:])
	switch {
	case ctx.Err() != nil:
		return via, ctx.Err()
	case err == nil, errors.Is(err, os.ErrDeadlineExceeded), errors.Is(err, syscall.ECONNREFUSED):
		return via, nil // silent, or there and without a discard service
	}
	return via, fmt.Errorf("%v can not be reached: %w", to.Addr(), cause(err))
}

// HasLink says why nothing can leave by an interface: it is not there, it is
// down, or its cable is out. Nil where the system does not tell.
func HasLink(name string) error {
	c := &cable{name: func() string { return name }}
	defer c.close()
	return c.out(time.Now())
}

// cause takes the addresses and the name of the call off a socket's error.
func cause(err error) error {
	var number syscall.Errno
	if errors.As(err, &number) {
		return number
	}
	return err
}
