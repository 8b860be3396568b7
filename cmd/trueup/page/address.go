package page

import (
	"net"
	"net/netip"
)

// hostForPhones is where another machine finds us: as we listen, or by the first address of this machine that is
// not its own alone.
func (s *Server) hostForPhones() string {
	p, err := netip.ParseAddrPort(s.at.String())
	if err != nil {
		return s.at.String()
	}
	if !p.Addr().IsUnspecified() {
		return p.String()
	}
	if a, ok := firstAddress(); ok {
		return netip.AddrPortFrom(a, p.Port()).String()
	}
	return netip.AddrPortFrom(netip.AddrFrom4([4]byte{127, 0, 0, 1}), p.Port()).String()
}

func firstAddress() (netip.Addr, bool) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return netip.Addr{}, false
	}
	for _, wantIPv4 := range []bool{true, false} {
		for _, x := range all {
			p, err := netip.ParsePrefix(x.String())
			if err == nil && p.Addr().IsGlobalUnicast() && p.Addr().Is4() == wantIPv4 {
				return p.Addr(), true
			}
		}
	}
	return netip.Addr{}, false
}
