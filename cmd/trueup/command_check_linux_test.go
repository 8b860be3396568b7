package main

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// checkRig is a rig of one lamp and one reference; what is under test goes in.
const checkRig = `rig: small
output: %s
feeds: [%s]
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: %[4]s}
`

// checked runs the program's check on a rig, as a process of its own.
func checked(t *testing.T, output, feeds, probe string, args ...string) (code int, text string) {
	t.Helper()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "rig.yaml")
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	if err := os.WriteFile(path, fmt.Appendf(nil, checkRig, output, feeds, profiles, probe), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, exe, append([]string{"check", path}, args...)...)
	c.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	out, _ := c.CombinedOutput()
	return c.ProcessState.ExitCode(), string(out)
}

// finds runs check and wants it to end as told, with a text.
func finds(t *testing.T, wantCode int, want, output, feeds, probe string, args ...string) {
	t.Helper()
	code, text := checked(t, output, feeds, probe, args...)
	if code != wantCode || !strings.Contains(text, want) {
		t.Errorf("exit code %d, want %d, and %q in\n%s", code, wantCode, want, text)
	}
	if fine := strings.Contains(text, "no fault found"); fine != (wantCode == exitLanded) {
		t.Errorf("exit code %d, and it says no fault found: %v", code, fine)
	}
}

// playedMeter is a meter on TCP that sends lines, again and again, to whoever
// calls; none: it keeps silent.
func playedMeter(t *testing.T, lines ...string) (address string) {
	t.Helper()
	return answering(t, func(c net.Conn) {
		for t.Context().Err() == nil {
			for _, l := range lines {
				if _, err := fmt.Fprintln(c, l); err != nil {
					return
				}
			}
			time.Sleep(50 * time.Millisecond) // an instrument takes its time
		}
	})
}

// hangingUp is a meter on TCP that ends every call.
func hangingUp(t *testing.T) (address string) {
	t.Helper()
	return answering(t, func(net.Conn) {})
}

// answering is a meter on TCP that does with every call what it is told, and ends it.
func answering(t *testing.T, each func(net.Conn)) (address string) {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ln.Close() })
	go func() {
		for {
			c, err := ln.Accept()
			if err != nil {
				return
			}
			go func() {
				defer c.Close()
				each(c)
			}()
		}
	}()
	return ln.Addr().String()
}

const (
	ownUnicast = `{mode: own, unicast: ["127.0.0.1:6000"]}`
	tcpMeter   = `{name: meter, kind: tcp, address: "%s"}`
	refLine    = `{"probe":"ref","x":0.38,"y":0.377,"lux":120}`
	markLine   = `{"probe":"mark","x":0.31,"y":0.33,"lux":80}`
)

// Every probe that a fixture names is read before it is called fine: the meter
// may be on and bring others.
func TestCheckReadsEveryProbe(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	meter := fmt.Sprintf(tcpMeter, playedMeter(t, refLine, markLine))
	t.Run("there", func(t *testing.T) {
		t.Parallel()
		finds(t, exitLanded, `probe "mark": x 0.3100 y 0.3300 80.0 lux`, ownUnicast, meter, "mark")
	})
	t.Run("misspelt", func(t *testing.T) {
		t.Parallel()
		finds(t, exitNotAll, `no reading of probe "marc" within 8s: feed meter is live; it brings "ref", "mark" (did you mean "mark"?); the rig says that "wash" is seen by probe "marc"`,
			ownUnicast, meter, "marc")
	})
	t.Run("nobody's", func(t *testing.T) {
		t.Parallel()
		finds(t, exitLanded, `probe "mark": brought too, and no fixture is seen by it`, ownUnicast,
			fmt.Sprintf(tcpMeter, playedMeter(t, markLine, refLine)), "ref") // a check ends with the reading that it needs last
	})
	t.Run("two feeds that name none", func(t *testing.T) {
		t.Parallel()
		second := strings.Replace(meter, "name: meter", "name: second", 1)
		finds(t, exitNotAll, `fixture "lamp": probe "ref": the rig has 2 feeds, and none says which probes it brings`, ownUnicast, meter+", "+second, "mark")
	})
	t.Run("dark", func(t *testing.T) {
		t.Parallel()
		dark := playedMeter(t, refLine, `{"probe":"mark","x":0.31,"y":0.33,"lux":0}`)
		finds(t, exitLanded, `probe "mark": dark: it answers, and sees too little light for a colour`, ownUnicast, fmt.Sprintf(tcpMeter, dark), "mark")
	})
	t.Run("second feed dead", func(t *testing.T) {
		t.Parallel()
		first := strings.Replace(meter, "}", ", probes: {ref: ref}}", 1)
		second := `{name: second, kind: tcp, address: "127.0.0.1:1", probes: {mark: mark}}`
		finds(t, exitNotAll, `no reading of probe "mark" within 8s: feed second: `, ownUnicast, first+", "+second, "mark")
	})
}

// An instrument that waits to be asked is told from one that is off.
func TestCheckTellsASilentInstrumentFromADeadOne(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	silent := fmt.Sprintf(tcpMeter, playedMeter(t))
	t.Run("silent", func(t *testing.T) {
		t.Parallel()
		finds(t, exitNotAll, "it is connected and says nothing: switch it to sending by itself, or, where it only talks when it is asked, say how under poll:", ownUnicast, silent, "mark")
	})
	t.Run("hangs up", func(t *testing.T) {
		t.Parallel()
		code, text := checked(t, ownUnicast, fmt.Sprintf(tcpMeter, hangingUp(t)), "mark")
		if code != exitNotAll || !strings.Contains(text, "the meter closed the connection") || strings.Contains(text, "it is connected") {
			t.Errorf("exit code %d:\n%s", code, text)
		}
	})
	t.Run("asked in vain", func(t *testing.T) {
		t.Parallel()
		asked := strings.Replace(silent, "}", ", instrument: "+filepath.ToSlash(filepath.Join(moduleRoot(t), "examples/instruments/polled-echo.yaml"))+"}", 1)
		finds(t, exitNotAll, "no answer like", ownUnicast, asked, "mark")
	})
}

// The way to every receiver is tried.
func TestCheckTriesTheWayToEveryReceiver(t *testing.T) {
	if !inNamespace(t, "TestCheckTriesTheWayToEveryReceiver") {
		return
	}
	for _, line := range []string{"link add net0 type veth peer name net1", "link set net0 up", "link set net1 up", "addr add 10.9.0.1/24 dev net0"} {
		if out, err := exec.Command("ip", strings.Fields(line)...).CombinedOutput(); err != nil {
			t.Fatalf("ip %s: %v: %s", line, err, out)
		}
	}
	for output, want := range map[string]string{
		`{mode: own, unicast: ["192.0.2.9"]}`:              "output: unicast 192.0.2.9:5568: no route to 192.0.2.9",
		`{mode: own, unicast: ["10.9.0.1", "10.9.0.77"]}`:  "output: unicast 10.9.0.77:5568: 10.9.0.77 can not be reached: there is no way there: look at cable, network interface and address",
		`{mode: own, unicast: ["127.0.0.1", "10.9.0.78"]}`: "127.0.0.1:5568 by lo: there is a way",
		`{mode: own, interfaces: [net7]}`:                  `interface "net7": no such network interface (there are: `,
	} {
		finds(t, exitNotAll, want, output, `{name: meter, kind: hand}`, "mark")
	}
	if out, err := exec.Command("ip", "link", "set", "net1", "down").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	finds(t, exitNotAll, `interface "net0" has no link: cable out, or network off`, `{mode: own, interfaces: [net0]}`, `{name: meter, kind: hand}`, "mark")
}

// An overlay without a desk is refused as a run refuses it; a desk that sends by
// multicast is heard although the rig itself sends to receivers by address.
func TestCheckListensForTheDesk(t *testing.T) {
	if !inNamespace(t, "TestCheckListensForTheDesk") {
		return
	}
	for _, line := range []string{"link set lo multicast on", "route add 239.0.0.0/8 dev lo"} {
		if out, err := exec.Command("ip", strings.Fields(line)...).CombinedOutput(); err != nil {
			t.Fatalf("ip %s: %v: %s", line, err, out)
		}
	}
	const overlay = `{mode: overlay, multicast: false, unicast: ["127.0.0.1:6000"]}`
	const hand = `{name: meter, kind: hand}`
	finds(t, exitNotAll, "no desk is heard on universe 1: nothing to lay our slots over", overlay, hand, "mark")

	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	d := &desk{conn: conn, to: []*net.UDPAddr{{IP: net.IPv4(239, 255, 0, 1), Port: 5568}}, priority: 120}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); d.run(ctx) }()
	finds(t, exitLanded, "no fault found", overlay, hand, "mark")
	const above = `source "desk" (CID 61206465-736b-206f-6620-746573742e2e, 127.0.0.1) sends at priority 120, we at 100`
	finds(t, exitNotAll, above, `{mode: own, unicast: ["127.0.0.1:5568"]}`, hand, "mark")
	finds(t, exitNotAll, "priority 110 is not above it", strings.Replace(overlay, "mode: overlay", "mode: overlay, priority: 110", 1), hand, "mark")
	_, text := checked(t, overlay, hand, "mark")
	if !strings.Contains(strings.Join(strings.Fields(text), " "), `1 "desk" 127.0.0.1 120 512`) {
		t.Errorf("the desk is not shown:\n%s", text)
	}
	cancel()
	<-done
	top := &desk{conn: conn, to: d.to, priority: 200}
	ctx, cancel = context.WithCancel(t.Context())
	done = make(chan struct{})
	go func() { defer close(done); top.run(ctx) }()
	finds(t, exitNotAll, "sends at priority 200, and nothing can go above", overlay, hand, "mark")
	cancel()
	<-done
}
