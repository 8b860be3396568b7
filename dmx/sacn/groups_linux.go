package sacn

import "golang.org/x/sys/unix"

// ownGroupsOnly asks for the groups that this very socket joined, and not for
// all that any program of the machine did. It means nothing to an IPv6 socket.
func ownGroupsOnly(fd int) error {
	if d, err := unix.GetsockoptInt(fd, unix.SOL_SOCKET, unix.SO_DOMAIN); err != nil || d != unix.AF_INET {
		return nil
	}
	return unix.SetsockoptInt(fd, unix.IPPROTO_IP, unix.IP_MULTICAST_ALL, 0)
}
