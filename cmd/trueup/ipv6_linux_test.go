package main

import (
	"bytes"
	"fmt"
	"net"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// groupOf collects what is sent to a multicast group on net0.
func groupOf(t *testing.T, network, group string) *tee {
	t.Helper()
	ifi, err := net.InterfaceByName("net0")
	if err != nil {
		t.Fatal(err)
	}
	conn, err := net.ListenMulticastUDP(network, ifi, &net.UDPAddr{IP: net.ParseIP(group), Port: 5568})
	if err != nil {
		t.Fatal(err)
	}
	w := &tee{conn: conn}
	done := make(chan struct{})
	go func() {
		defer close(done)
		buf := make([]byte, 2048)
		for {
			n, _, err := conn.ReadFromUDPAddrPort(buf)
			if err != nil {
				return
			}
			w.mu.Lock()
			w.seen = append(w.seen, datagram{time.Now(), bytes.Clone(buf[:n])})
			w.mu.Unlock()
		}
	}()
	t.Cleanup(func() { conn.Close(); <-done })
	return w
}

// A rig can ask for IPv6 multicast, beside IPv4 or alone, and for an IPv6
// receiver. Whatever goes by several ways is one packet: the same number and the
// same bytes (E1.31-2018 9.1), and each way obeys the limits.
func TestARunGoesByIPv6(t *testing.T) {
	if !inNamespace(t, "TestARunGoesByIPv6") {
		return
	}
	for _, line := range []string{"link add net0 type veth peer name net1", "link set net0 up", "link set net1 up", "addr add 10.9.0.1/24 dev net0", "-6 addr add fd09::1/64 dev net0 nodad"} {
		if out, err := exec.Command("ip", strings.Fields(line)...).CombinedOutput(); err != nil {
			t.Fatalf("ip %s: %v: %s", line, err, out)
		}
	}
	for use, by4 := range map[string]bool{"also": true, "only": false} {
		t.Run(use, func(t *testing.T) {
			v4, v6 := groupOf(t, "udp4", "239.255.0.1"), groupOf(t, "udp6", "ff18::8300:1")
			o := prepareOwnAt(t, net.IPv6loopback, fmt.Sprintf(`multicast: true, interfaces: [net0], ipv6: %s, unicast: ["%%s"]`, use))
			o.begin()
			if code := o.end(); !o.through(code) {
				t.Fatalf("exit code %d:\n%s", code, o.text.String())
			}
			o.checkPackets(true)
			want := o.wire.packets() // by unicast to ::1
			for name, way := range map[string]*tee{"IPv4": v4, "IPv6": v6} {
				got := way.packets()
				if name == "IPv4" && !by4 {
					if len(got) > 0 {
						t.Errorf("%d packets by IPv4", len(got))
					}
					continue
				}
				if len(got) != len(want) {
					t.Errorf("%s: %d packets, %d to the receiver", name, len(got), len(want))
				}
				for i := range min(len(got), len(want)) {
					if !bytes.Equal(got[i].data, want[i].data) {
						t.Fatalf("%s: packet %d has other bytes than the one to the receiver", name, i)
					}
				}
			}
		})
	}
}
