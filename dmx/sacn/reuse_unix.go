//go:build unix

package sacn

import (
	"syscall"

	"golang.org/x/sys/unix"
)

// shareAddress lets several programs of this machine listen at one port.
func shareAddress(_, _ string, c syscall.RawConn) error {
	var failed error
	err := c.Control(func(fd uintptr) {
		failed = firstError(
			func() error { return unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEADDR, 1) },
			func() error { return unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_REUSEPORT, 1) },
			func() error { return ownGroupsOnly(int(fd)) })
	})
	if err != nil {
		return err
	}
	return failed
}
