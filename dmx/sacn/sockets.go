package sacn

import (
	"fmt"
	"net"
	"net/netip"

	"golang.org/x/net/ipv4"
	"golang.org/x/net/ipv6"
)

const (
	multicastTTL = 16      // a lighting network may have routers; the system's default of 1 stops at the first
	bufferBytes  = 1 << 20 // asked for; the system may give less
)

// dialMulticast opens a socket that sends by multicast on one interface. The
// interface is looked up at each call: it may have come back as another.
func dialMulticast(name string, v6 bool) (out, error) {
	ifi, err := net.InterfaceByName(name)
	if err != nil {
		return nil, fmt.Errorf("interface %q: %w", name, err)
	}
	var from net.IP // the system chooses the interface's own address
	if ifi.Flags&net.FlagLoopback != 0 && !v6 {
		from = net.IPv4(127, 0, 0, 1) // for loopback it would choose 0.0.0.0
	}
	c, err := openUDP(v6, from)
	if err != nil {
		return nil, err
	}
	if v6 {
		p := ipv6.NewPacketConn(c)
		err = firstError(
			func() error { return p.SetMulticastInterface(ifi) },
			func() error { return p.SetMulticastHopLimit(multicastTTL) },
			func() error { return p.SetMulticastLoopback(true) })
	} else {
		p := ipv4.NewPacketConn(c)
		err = firstError(
			func() error { return p.SetMulticastInterface(ifi) },
			func() error { return p.SetMulticastTTL(multicastTTL) },
			func() error { return p.SetMulticastLoopback(true) })
	}
	if err != nil {
		c.Close()
		return nil, fmt.Errorf("interface %q: %w", name, err)
	}
	return newSocketOut(c)
}

// dialUnicast opens a socket for one unicast receiver. It is not connected:
// nobody listening there is no error of ours.
func dialUnicast(to netip.AddrPort) (out, error) {
	c, err := openUDP(to.Addr().Is6(), nil)
	if err != nil {
		return nil, err
	}
	return newSocketOut(c)
}

func openUDP(v6 bool, from net.IP) (*net.UDPConn, error) {
	network := "udp4"
	if v6 {
		network = "udp6"
	}
	c, err := net.ListenUDP(network, &net.UDPAddr{IP: from})
	if err != nil {
		return nil, err
	}
	_ = c.SetWriteBuffer(bufferBytes) // only a wish
	return c, nil
}

func firstError(steps ...func() error) error {
	for _, s := range steps {
		if err := s(); err != nil {
			return err
		}
	}
	return nil
}
