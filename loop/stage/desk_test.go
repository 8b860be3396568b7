package stage

import (
	"net/netip"
	"strings"
	"testing"

	"trueup/loop/session/rig"
)

// Two desks that are played on one machine would be heard as one that contradicts itself: the
// second is refused, in words that say what to do.
func TestASecondDeskIsRefused(t *testing.T) {
	to := netip.MustParseAddrPort("127.0.0.1:9")
	first, err := NewDesk(&rig.Rig{}, to)
	if err != nil {
		t.Skipf("another program plays one here: %v", err)
	}
	t.Cleanup(func() { first.conn.Close() })
	if _, err := NewDesk(&rig.Rig{}, to); err == nil || !strings.Contains(err.Error(), "another stage on this machine plays a desk already") {
		t.Errorf("the second desk: %v", err)
	}
}
