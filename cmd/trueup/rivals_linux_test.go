package main

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/ipv4"

	"trueup/loop/session/rig"
)

// ownRig is the small rig alone on its universe; the output is filled in.
const ownRig = `rig: small
output: {mode: own, %s}
feeds:
  - {name: meter, kind: tcp, address: "%s"}
safety: {rise: 100 %%/s, fall: 100 %%/s, level_cap: 50 %%}
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: mark}
`

// ownNetworkRun is a run in own mode that is yet to be started, with its stage,
// in a network whose interface has the address 10.9.0.1 besides.
type ownNetworkRun struct {
	*processRun
	exe, path, dir string
}

// byMulticast and byUnicast are the ways the run can send.
const (
	byMulticast = `multicast: true, interfaces: [lo], unicast: ["%s"]`
	byUnicast   = `unicast: ["%s"]` // to an address on the network
)

func prepareOwn(t *testing.T, output string) *ownNetworkRun {
	t.Helper()
	if out, err := exec.Command("ip", "addr", "add", "10.9.0.1/24", "dev", "lo").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return prepareOwnAt(t, net.IPv4(10, 9, 0, 1), output)
}

// prepareOwnAt has the run send to a receiver at an address of its own.
func prepareOwnAt(t *testing.T, at net.IP, output string) *ownNetworkRun {
	t.Helper()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	o := &ownNetworkRun{exe: exe, path: filepath.Join(dir, "rig.yaml"), dir: dir}
	o.write(t, fmt.Sprintf(byMulticast, "127.0.0.1:6000"), "127.0.0.1:1")
	if err := os.WriteFile(filepath.Join(dir, "stage.yaml"), []byte("seed: 7\nmeter: {integration_ms: 80, period_ms: 100}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "stage", o.path, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--truth=127.0.0.1:0", "--json")
	cmd.Env = o.env("home")
	st, err := startStageCommand(cmd)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.stop)
	o.processRun = &processRun{t: t, out: filepath.Join(dir, "out"), stage: st, wire: newTeeAt(t, at, st.ready.SACN), lines: make(chan string, 1000)}
	o.write(t, fmt.Sprintf(output, o.wire.conn.LocalAddr()), st.ready.Meter)
	if o.rig, err = rig.Load(o.path); err != nil {
		t.Fatal(err)
	}
	return o
}

func (o *ownNetworkRun) write(t *testing.T, output, meter string) {
	t.Helper()
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	if err := os.WriteFile(o.path, fmt.Appendf(nil, ownRig, output, meter, profiles), 0o644); err != nil {
		t.Fatal(err)
	}
}

// env is the environment of a user with a home of their own.
func (o *ownNetworkRun) env(home string) []string {
	dir := filepath.Join(o.dir, home)
	return append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
}

func (o *ownNetworkRun) begin() { o.start(o.exe, o.path, o.env("home")) }

// rivalDesk sends a look of its own on universe 1 until stopped.
func rivalDesk(t *testing.T, d *desk) (stop func()) {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	lo, err := net.InterfaceByName("lo")
	if err != nil {
		t.Fatal(err)
	}
	if err := ipv4.NewPacketConn(conn).SetMulticastInterface(lo); err != nil {
		t.Fatal(err)
	}
	d.conn, d.to = conn, []*net.UDPAddr{net.UDPAddrFromAddrPort(netip.MustParseAddrPort("239.255.0.1:5568"))}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); d.run(ctx) }()
	stop = func() { cancel(); <-done }
	t.Cleanup(func() { stop(); conn.Close() })
	return stop
}

// Where another source is at our priority or above, a run that would have its
// universe to itself does not begin, whichever way it sends. It says who is
// there, and no packet leaves.
func TestARunIsRefusedBesideAnotherSource(t *testing.T) {
	if !inNamespace(t, "TestARunIsRefusedBesideAnotherSource") {
		return
	}
	for name, output := range map[string]string{"multicast": byMulticast, "unicast": byUnicast} {
		t.Run(name, func(t *testing.T) {
			defer func() { exec.Command("ip", "addr", "del", "10.9.0.1/24", "dev", "lo").Run() }()
			o := prepareOwn(t, output)
			rivalDesk(t, &desk{priority: 150})
			o.begin()
			if code := o.end(); code != exitNotAll {
				t.Errorf("exit code %d", code)
			}
			if text := o.text.String(); !strings.Contains(text, `source "desk" (CID 61206465-736b-206f-6620-746573742e2e, 127.0.0.1) sends at priority 150, we at 100`) {
				t.Errorf("it is not said who is there:\n%s", text)
			}
			if n := len(o.wire.packets()); n > 0 {
				t.Errorf("%d packets left all the same", n)
			}
		})
	}
}

// A source that comes in above us in mid-run ends the run gently, with its name;
// so does one that carries our own CID at a lower priority, such as a computer
// to which our settings were copied. A desk below us does not.
func TestASourceThatComesInEndsAnOwnRunGently(t *testing.T) {
	if !inNamespace(t, "TestASourceThatComesInEndsAnOwnRunGently") {
		return
	}
	for name, c := range map[string]struct {
		rival func(o *ownNetworkRun) *desk
		want  string
	}{
		"above us": {func(*ownNetworkRun) *desk { return &desk{priority: 150} }, `source "desk" (CID 61206465-`},
		"our own CID": {func(o *ownNetworkRun) *desk {
			return &desk{cid: string(o.wire.packets()[0].data[22:38]), priority: 90}
		}, "with our own CID"},
		"below us": {func(*ownNetworkRun) *desk { return &desk{priority: 90} }, ""},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() { exec.Command("ip", "addr", "del", "10.9.0.1/24", "dev", "lo").Run() }()
			o := prepareOwn(t, byMulticast)
			o.begin()
			o.waitRead("wash", 1)
			rivalDesk(t, c.rival(o))
			code := o.end()
			text := o.text.String()
			if c.want == "" && !o.through(code) || c.want != "" && (code != exitNotAll || !strings.Contains(text, c.want)) {
				t.Errorf("exit code %d, want to read %q:\n%s", code, c.want, text)
			}
			o.checkPackets(true)
			if s := o.summary(); c.want != "" && (s.Complete || !strings.Contains(s.Stop, c.want)) {
				t.Errorf("the journal gives the reason %q", s.Stop)
			}
		})
	}
}

// A second run of the same rig, three seconds later, is refused and told which
// run is at work; so is one of another user with another rig on the same
// universe. The first one ends as if nobody had been there.
func TestASecondRunOnThisMachineIsRefused(t *testing.T) {
	if !inNamespace(t, "TestASecondRunOnThisMachineIsRefused") {
		return
	}
	o := prepareOwn(t, byMulticast)
	o.begin()
	time.Sleep(3 * time.Second) // as two people would
	for _, home := range []string{"home", "another home"} {
		second := exec.Command(o.exe, "match", o.path, "--live", "--yes", "--out", filepath.Join(o.dir, "second"))
		second.Env = o.env(home)
		text, _ := second.CombinedOutput()
		want := fmt.Sprintf(`another run is at work on this machine (rig "small", process %d, since `, o.match.Process.Pid)
		if code := second.ProcessState.ExitCode(); code != exitNotAll || !strings.Contains(string(text), want) {
			t.Errorf("%s: exit code %d, want to read %q:\n%s", home, code, want, text)
		}
	}
	if code := o.end(); !o.through(code) {
		t.Errorf("exit code %d:\n%s", code, o.text.String())
	}
	o.checkPackets(true)
	var last byte
	for i, p := range o.wire.packets() {
		if i > 0 && p.data[111] != last+1 {
			t.Fatalf("packet %d has sequence number %d after %d", i, p.data[111], last)
		}
		last = p.data[111]
	}
}
