//go:build !linux

package sacn

import "net"

func (c *cable) hasLink() (bool, error) {
	ifi, err := net.InterfaceByName(c.known)
	if err != nil {
		return false, err
	}
	return ifi.Flags&net.FlagUp != 0 && ifi.Flags&net.FlagRunning != 0, nil
}

func (c *cable) close() {}
