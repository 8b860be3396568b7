package sacn

import (
	"errors"
	"fmt"
	"net"
	"slices"
	"strings"
)

// ErrNoInterface is wrapped by errors about network interfaces.
var ErrNoInterface = errors.New("no such network interface")

// namedInterfaces checks that every name is an interface of this machine.
func namedInterfaces(names []string) ([]string, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("list network interfaces: %w", err)
	}
	var have []string
	for _, i := range all {
		have = append(have, i.Name)
	}
	for i, n := range names {
		if !slices.Contains(have, n) {
			return nil, fmt.Errorf("interface %q: %w (there are: %s)", n, ErrNoInterface, strings.Join(have, ", "))
		}
		if slices.Contains(names[:i], n) {
			return nil, fmt.Errorf("interface %q is named twice", n)
		}
	}
	return names, nil
}

// multicastInterfaces lists the interfaces that are up and can multicast;
// loopback is one of them only where nothing else is.
func multicastInterfaces() ([]string, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("list network interfaces: %w", err)
	}
	var wired, loop []string
	for _, i := range all {
		switch {
		case i.Flags&net.FlagUp == 0:
		case i.Flags&net.FlagLoopback != 0:
			loop = append(loop, i.Name)
		case i.Flags&net.FlagMulticast != 0:
			wired = append(wired, i.Name)
		}
	}
	if len(wired) > 0 {
		return wired, nil
	}
	return loop, nil
}

// SendInterfaces are those that a sender's multicast leaves by: the ones that are
// named, if this machine has them all, or else the only one there is.
func SendInterfaces(named []string) ([]string, error) {
	if len(named) == 0 {
		return oneInterface()
	}
	return namedInterfaces(named)
}

// oneInterface is the choice a sender may make by itself: none.
func oneInterface() ([]string, error) {
	names, err := multicastInterfaces()
	if err != nil {
		return nil, err
	}
	switch len(names) {
	case 0:
		return nil, fmt.Errorf("multicast: %w that is up and can multicast", ErrNoInterface)
	case 1:
		return names, nil
	}
	return nil, fmt.Errorf("multicast could leave by %s: name the interface of the lighting network", strings.Join(names, ", "))
}
