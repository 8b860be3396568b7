package sacn

import (
	"fmt"
	"net"
	"net/netip"
	"time"
)

// cableEvery is how often a link looks whether its interface still has one.
const cableEvery = 20 * time.Millisecond

// routeEvery is how often the interface of an address is looked for while none
// is known.
const routeEvery = time.Second

// cable watches the interface that a link leaves by. The system takes packets
// for an interface without a link and drops them without a word; who does not
// look believes they are out.
type cable struct {
	name  func() string // of the interface; "" = not known, never said to be out
	known string
	next  time.Time
	err   error
	fd    int // of the socket that is asked, where one is
}

// out says why nothing can leave, or nil.
func (c *cable) out(now time.Time) error {
	if now.Before(c.next) {
		return c.err
	}
	c.next, c.err = now.Add(cableEvery), nil
	if c.known == "" {
		if c.known = c.name(); c.known == "" {
			c.next = now.Add(routeEvery) // finding a route lists all interfaces
			return nil
		}
	}
	if linked, err := c.hasLink(); err != nil {
		c.err = fmt.Errorf("interface %q is gone: %w", c.known, err)
		c.known = "" // it may come back under another name
	} else if !linked {
		c.err = fmt.Errorf("interface %q has no link: cable out, or network off", c.known)
	}
	return c.err
}

// routeTo names the interface by which packets to an address leave; "" where
// there is no way at present. Connecting a UDP socket sends nothing.
func routeTo(to netip.AddrPort) string {
	c, err := net.DialUDP("udp", nil, net.UDPAddrFromAddrPort(to))
	if err != nil {
		return ""
	}
	defer c.Close()
	from, ok := c.LocalAddr().(*net.UDPAddr)
	if !ok {
		return ""
	}
	all, err := net.Interfaces()
	if err != nil {
		return ""
	}
	for _, ifi := range all {
		addrs, err := ifi.Addrs()
		if err != nil {
			continue
		}
		for _, a := range addrs {
			if n, ok := a.(*net.IPNet); ok && n.IP.Equal(from.IP) {
				return ifi.Name
			}
		}
	}
	return ""
}
