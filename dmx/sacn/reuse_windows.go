package sacn

import (
	"syscall"

	"golang.org/x/sys/windows"
)

// shareAddress lets several programs of this machine listen at one port.
func shareAddress(_, _ string, c syscall.RawConn) error {
	var failed error
	err := c.Control(func(fd uintptr) {
		failed = windows.SetsockoptInt(windows.Handle(fd), windows.SOL_SOCKET, windows.SO_REUSEADDR, 1)
	})
	if err != nil {
		return err
	}
	return failed
}
