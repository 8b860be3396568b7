package sacn

import (
	"net/netip"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// An interface that went down is noticed in the moment it is looked at, although
// the system still takes packets for it, and so is its return.
func TestAnInterfaceWithoutALinkIsNoticed(t *testing.T) {
	if !ownNetwork(t) {
		return
	}
	set := func(state string) {
		t.Helper()
		if out, err := exec.Command("ip", "link", "set", "lo", state).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	set("up")
	to := netip.MustParseAddrPort("127.0.0.1:5568")
	c := &cable{name: func() string { return routeTo(to) }}
	defer c.close()
	now := time.Now()
	for i, want := range []string{"", "has no link", "", "has no link"} {
		if i > 0 {
			set(map[bool]string{true: "down", false: "up"}[want != ""])
		}
		now = now.Add(cableEvery)
		err := c.out(now)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("step %d: %v, want %q", i, err, want)
		}
	}
}

// An interface that is not there says so, and one that is not known is never
// said to be out: a wrong alarm would stop a show.
func TestOnlyAKnownInterfaceIsSaidToBeOut(t *testing.T) {
	gone := &cable{name: func() string { return "no-such-if" }}
	defer gone.close()
	if err := gone.out(time.Now()); err == nil || !strings.Contains(err.Error(), "no-such-if") {
		t.Errorf("%v", err)
	}
	unknown := &cable{name: func() string { return "" }}
	defer unknown.close()
	if err := unknown.out(time.Now()); err != nil {
		t.Errorf("%v", err)
	}
	if name := routeTo(netip.MustParseAddrPort("127.0.0.1:5568")); name == "" && os.Getenv("TRUEUP_CI") == "1" {
		t.Error("the loopback interface was not found")
	}
}
