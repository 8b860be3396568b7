package sacn

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"time"

	"golang.org/x/net/ipv4"
	"golang.org/x/net/ipv6"
)

const (
	// groupsPerSocket keeps below the twenty memberships that a common system
	// allows one IPv4 socket.
	groupsPerSocket = 20
	rejoinEvery     = 2 * time.Second
)

// groupSocket is one listening socket with the groups it has joined.
type groupSocket struct {
	conn   *net.UDPConn
	v6     bool
	joined map[membership]int // with the interface's number when it joined
}

// membership is one group on one interface.
type membership struct {
	group netip.Addr
	ifi   string
}

// listen opens a socket at addr. shared allows other programs at the same port.
func listen(addr netip.AddrPort, shared bool) (*groupSocket, error) {
	network, v6 := "udp4", false
	if addr.Addr().Is6() && !addr.Addr().Is4In6() {
		network, v6 = "udp6", true
	}
	var lc net.ListenConfig
	if shared {
		lc.Control = shareAddress
	}
	p, err := lc.ListenPacket(context.Background(), network, addr.String())
	if err != nil {
		return nil, fmt.Errorf("listen for sACN at %v: %w", addr, err)
	}
	c, ok := p.(*net.UDPConn)
	if !ok {
		p.Close()
		return nil, fmt.Errorf("listen for sACN at %v: not a UDP socket", addr)
	}
	_ = c.SetReadBuffer(bufferBytes) // only a wish
	return &groupSocket{conn: c, v6: v6, joined: map[membership]int{}}, nil
}

// join joins m, or joins it again where the interface is another one now than
// it was: unplugged and plugged in again.
func (e *groupSocket) join(m membership) error {
	ifi, err := net.InterfaceByName(m.ifi)
	if err != nil {
		return fmt.Errorf("interface %q: %w", m.ifi, err)
	}
	if i, ok := e.joined[m]; ok && i == ifi.Index {
		return nil
	}
	group := &net.UDPAddr{IP: m.group.AsSlice()}
	if e.v6 {
		err = ipv6.NewPacketConn(e.conn).JoinGroup(ifi, group)
	} else {
		err = ipv4.NewPacketConn(e.conn).JoinGroup(ifi, group)
	}
	if err != nil {
		return fmt.Errorf("join %v on %q: %w", m.group, m.ifi, err)
	}
	e.joined[m] = ifi.Index
	return nil
}

// has tells whether m is, or was, joined here.
func (e *groupSocket) has(m membership) bool { _, ok := e.joined[m]; return ok }
