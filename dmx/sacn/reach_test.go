package sacn

import (
	"context"
	"net/netip"
	"strings"
	"testing"
	"time"
)

// A receiver that is on the network is reached; one for which there is no route,
// one whose place on the network is empty, and one behind an interface without a
// link are told apart, without a packet of levels.
func TestAReceiverThatCanNotBeReachedIsSaid(t *testing.T) {
	if !ownNetwork(t) {
		return
	}
	// net0 is 10.9.0.1/24. Behind it a second namespace would answer; here its own
	// address stands for a receiver that is there.
	shell(t, "ip link add net8 type veth peer name net9", "ip addr add 10.8.0.1/24 dev net8") // never up
	if err := HasLink("net0"); err != nil {
		t.Errorf("net0 has a link: %v", err)
	}
	if err := HasLink("net8"); err == nil || !strings.Contains(err.Error(), `"net8" has no link`) {
		t.Errorf("net8 has no link: %v", err)
	}
	if err := HasLink("net7"); err == nil || !strings.Contains(err.Error(), `"net7" is gone`) {
		t.Errorf("there is no net7: %v", err)
	}
	for to, want := range map[string]struct{ via, says string }{
		"127.0.0.1:5568":    {"lo", ""},
		"10.9.0.1:5568":     {"", ""},
		"192.0.2.7:5568":    {"", "no route to 192.0.2.7"},
		"10.9.0.77:5568":    {"net0", "10.9.0.77 can not be reached: no route to host"},
		"[fd09::77]:5568":   {"net0", "fd09::77 can not be reached: no route to host"},
		"10.8.0.7:5568":     {"", "no route to 10.8.0.7"},
		"[2001:db8::1]:556": {"", "no route to 2001:db8::1"},
	} {
		t.Run(to, func(t *testing.T) {
			t.Parallel()
			ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
			defer cancel()
			via, err := Reach(ctx, netip.MustParseAddrPort(to))
			if want.says == "" && err != nil || want.says != "" && (err == nil || !strings.Contains(err.Error(), want.says)) {
				t.Errorf("%s: %v, want %q", to, err, want.says)
			}
			if want.via != "" && via != want.via {
				t.Errorf("%s leaves by %q, want %q", to, via, want.via)
			}
		})
	}
}
