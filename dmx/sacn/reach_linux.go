package sacn

import (
	"net"

	"golang.org/x/sys/unix"
)

// hearErrors asks for what the network says of our datagrams, unreachable hosts
// included (ip(7), IP_RECVERR). Without it only a closed port is told.
func hearErrors(c *net.UDPConn, v6 bool) {
	raw, err := c.SyscallConn()
	if err != nil {
		return
	}
	_ = raw.Control(func(fd uintptr) {
		if v6 {
			_ = unix.SetsockoptInt(int(fd), unix.IPPROTO_IPV6, unix.IPV6_RECVERR, 1)
			return
		}
		_ = unix.SetsockoptInt(int(fd), unix.IPPROTO_IP, unix.IP_RECVERR, 1)
	})
}
