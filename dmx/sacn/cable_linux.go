package sacn

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// hasLink asks the kernel for the flags of one interface: one call, where
// package net would list them all (netdevice(7)). It does not block, so the
// scheduler is not told of it, as of the packets (socketOut.push).
func (c *cable) hasLink() (bool, error) {
	if c.fd == 0 {
		fd, err := unix.Socket(unix.AF_INET, unix.SOCK_DGRAM|unix.SOCK_CLOEXEC, 0)
		if err != nil {
			return false, err
		}
		c.fd = fd
	}
	req, err := unix.NewIfreq(c.known)
	if err != nil {
		return false, err
	}
	if _, _, errno := unix.RawSyscall(unix.SYS_IOCTL, uintptr(c.fd), unix.SIOCGIFFLAGS, uintptr(unsafe.Pointer(req))); errno != 0 {
		return false, errno
	}
	const both = unix.IFF_UP | unix.IFF_RUNNING
	return req.Uint16()&both == both, nil
}

func (c *cable) close() {
	if c.fd != 0 {
		unix.Close(c.fd)
		c.fd = 0
	}
}
