package sacn

import (
	"context"
	"encoding/hex"
	"fmt"
	"net/netip"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
)

// Two hosts with a cable between them. The sender's end goes down for ten
// seconds and comes back: the run goes on, the sender says once what is wrong,
// and the other host sees a legal stream before and after, with the newest look
// first and no burst.
func TestACableIsPulledAndPutBack(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("half a minute of real time: TRUEUP_LONG=1 runs it")
	}
	if !ownNetwork(t) {
		return
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command("unshare", "-n", self, "far0", "ip link set lo up", "ip link set far0 up", "ip addr add 10.7.0.2/24 dev far0")
	c.Env = append(os.Environ(), roleEnv+"=watch")
	lines := beginCmd(t, "", c)
	own := func(pid string) string {
		ns, _ := os.Readlink("/proc/" + pid + "/ns/net")
		return ns
	}
	await(t, "the other host", func() bool { ns := own(strconv.Itoa(c.Process.Pid)); return ns != "" && ns != own("self") })
	shell(t, "ip link add near0 type veth peer name far0", fmt.Sprintf("ip link set far0 netns %d", c.Process.Pid),
		"ip addr add 10.7.0.1/24 dev near0", "ip link set near0 up")
	for l := range lines {
		if l == "watching" {
			break
		}
		t.Log(l)
	}
	s, err := NewSender(SenderConfig{CID: testCID(t), SourceName: "left", Priority: 100, Universes: []dmx.Universe{1, 2}, Multicast: true, Interfaces: []string{"near0"}})
	if err != nil {
		t.Fatal(err)
	}
	var look show
	look.set(1, 1)
	look.set(2, 1)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx, &look) }()
	set := func(v byte) {
		for u := dmx.Universe(1); u <= 2; u++ {
			look.set(u, v)
			s.Wake(u)
		}
	}
	time.Sleep(2 * time.Second)
	shell(t, "ip link set near0 down")
	down := time.Now()
	set(2)
	time.Sleep(5 * time.Second)
	if l := s.Links()[0]; l.Up || l.Err == "" {
		t.Errorf("with the interface down the state is %+v", l)
	}
	set(3)
	time.Sleep(5 * time.Second)
	shell(t, "ip link set near0 up")
	up := time.Now()
	time.Sleep(6 * time.Second)
	if l := s.Links()[0]; !l.Up {
		t.Errorf("with the interface back the state is %+v", l)
	}
	set(4)
	time.Sleep(time.Second)
	cancel()
	if err := <-done; err != nil {
		t.Error(err)
	}
	time.Sleep(200 * time.Millisecond)

	before, after := captured(t, lines, up)
	if len(before) == 0 || len(after) == 0 {
		t.Fatalf("%d packets before, %d after", len(before), len(after))
	}
	mustBeLegal(t, before)
	mustBeLegal(t, after)
	for _, p := range before {
		if p.at.After(down.Add(100 * time.Millisecond)) {
			t.Error("the cable was not down")
		}
	}
	if d := after[0].at.Sub(up); d > 4*time.Second {
		t.Errorf("back %v after the interface", d)
	}
	goodbyes := 0
	for _, p := range after {
		if p.terminated() {
			goodbyes++
		} else if v := p.b[126]; v != 3 && v != 4 {
			t.Errorf("after the cable was back an old look (%d) was seen", v)
		}
	}
	if goodbyes != 6 {
		t.Errorf("%d goodbyes on two universes", goodbyes)
	}
	t.Logf("%d packets before, %d after; the first %v after the interface was back; errors counted %d", len(before), len(after), after[0].at.Sub(up), s.Links()[0].Errors)
}

// captured reads what the other host printed and parts it at a moment.
func captured(t *testing.T, lines <-chan string, at time.Time) (before, after []sent) {
	t.Helper()
	for {
		select {
		case l, ok := <-lines:
			if !ok {
				return before, after
			}
			f := strings.Fields(l)
			if len(f) != 3 {
				t.Fatalf("the other host says %q", l)
			}
			ns, err := strconv.ParseInt(f[0], 10, 64)
			if err != nil {
				t.Fatal(err)
			}
			b, err := hex.DecodeString(f[2])
			if err != nil {
				t.Fatal(err)
			}
			p := sent{time.Unix(0, ns), netip.AddrPort{}, b}
			if p.at.Before(at) {
				before = append(before, p)
			} else {
				after = append(after, p)
			}
		case <-time.After(300 * time.Millisecond):
			return before, after
		}
	}
}

// An interface that is unplugged and plugged in again is another one to the
// system. Sender and Receiver find it by its name.
func TestAnInterfaceThatComesBackUnderAnotherNumber(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("ten seconds of real time: TRUEUP_LONG=1 runs it")
	}
	if !ownNetwork(t) {
		return
	}
	plug := func() {
		shell(t, "ip link add plug0 type veth peer name plug1", "ip link set plug0 up", "ip link set plug1 up", "ip addr add 10.8.0.1/24 dev plug0")
	}
	plug()
	r, err := NewReceiver(ReceiverConfig{Universes: []dmx.Universe{1}, Multicast: true, Interfaces: []string{"plug0"}})
	if err != nil {
		t.Fatal(err)
	}
	start(t, r.Run)
	s, err := NewSender(SenderConfig{CID: testCID(t), Universes: []dmx.Universe{1}, Multicast: true, Interfaces: []string{"plug0"}})
	if err != nil {
		t.Fatal(err)
	}
	var look show
	look.set(1, 1)
	start(t, func(ctx context.Context) error { return s.Run(ctx, &look) })
	var got [512]byte
	await(t, "the first look", func() bool { _, live := r.Levels(1, &got); return live && got[0] == 1 })
	shell(t, "ip link del plug0")
	time.Sleep(2 * time.Second)
	look.set(1, 2)
	plug()
	deadline := time.Now().Add(time.Minute)
	for {
		if _, live := r.Levels(1, &got); live && got[0] == 2 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("not back after a minute: %+v", s.Links())
		}
		time.Sleep(10 * time.Millisecond)
	}
}
