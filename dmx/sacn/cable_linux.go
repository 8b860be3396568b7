package sacn

import (
	"golang.org/x/sys/unix"
)

// hasLink asks the kernel for the flags of one interface: one call, where
// package net would list them all (netdevice(7)).
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
	if err := unix.IoctlIfreq(c.fd, unix.SIOCGIFFLAGS, req); err != nil {
		return false, err
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
