package sacn

import (
	"net"
	"net/netip"
)

// IPVersions says by which versions of IP multicast goes out, or is listened to.
// A packet that goes by both keeps its number and its bytes, and receivers act
// on it once (E1.31 9.1).
type IPVersions uint8

const (
	IPv4        IPVersions = iota // the groups of 9.3.1 alone
	IPv4AndIPv6                   // those of 9.3.2 as well
	IPv6                          // those of 9.3.2 alone
)

func (v IPVersions) has4() bool { return v != IPv6 }
func (v IPVersions) has6() bool { return v != IPv4 }

// machineHasIPv6 tells whether this machine can open an IPv6 socket at all.
func machineHasIPv6() bool {
	c, err := net.ListenUDP("udp6", net.UDPAddrFromAddrPort(netip.AddrPortFrom(netip.IPv6Unspecified(), 0)))
	if err != nil {
		return false
	}
	c.Close()
	return true
}
