package stage

import (
	"net"
	"net/netip"
)

// UsualOrFree is the usual UDP address if nobody has it on this machine, and any
// free port of the same host if somebody has.
func UsualOrFree(usual netip.AddrPort) netip.AddrPort {
	c, err := net.ListenPacket("udp", usual.String())
	if err != nil {
		return netip.AddrPortFrom(usual.Addr(), 0)
	}
	c.Close()
	return usual
}

// UsualOrFreeTCP is the same for TCP.
func UsualOrFreeTCP(usual netip.AddrPort) string {
	l, err := net.Listen("tcp", usual.String())
	if err != nil {
		return netip.AddrPortFrom(usual.Addr(), 0).String()
	}
	l.Close()
	return usual.String()
}
