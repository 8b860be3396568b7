package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

// overlayRig is the small rig beside a desk.
const overlayRig = `rig: small
output: {mode: overlay, multicast: false, unicast: ["%s"]}
feeds:
  - {name: meter, kind: tcp, address: "%s"}
safety: {rise: 100 %%/s, fall: 100 %%/s, level_cap: 50 %%}
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: mark}
`

// inNamespace runs the named test again in a network namespace of its own, in
// which nothing but the loopback interface exists and port 5568 is free.
func inNamespace(t *testing.T, name string) (inside bool) {
	t.Helper()
	return inNamespaceFor(t, name, 10*time.Minute, io.Discard)
}

// inNamespaceFor is inNamespace for tests that take longer, and that show their
// output while they run.
func inNamespaceFor(t *testing.T, name string, limit time.Duration, show io.Writer) (inside bool) {
	t.Helper()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	if os.Getenv("NAMESPACE_OF_TEST") == name {
		return true
	}
	t.Parallel()
	missing := func(why string) {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	if os.Geteuid() != 0 {
		missing("needs root for a network namespace of its own")
	}
	for _, tool := range []string{"unshare", "ip"} {
		if _, err := exec.LookPath(tool); err != nil {
			missing("needs " + tool)
		}
	}
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("unshare", "-n", "sh", "-c", `ip link set lo up && exec "$0" -test.run "^$1\$" -test.v -test.timeout $2`, exe, name, limit.String())
	cmd.Env = append(os.Environ(), "NAMESPACE_OF_TEST="+name)
	var out bytes.Buffer
	cmd.Stdout = io.MultiWriter(&out, show)
	cmd.Stderr = cmd.Stdout
	if err := cmd.Run(); err != nil || !strings.Contains(out.String(), "--- PASS: "+name) {
		t.Fatalf("inside the namespace: %v\n%s", err, out.String())
	}
	return false
}

// besideADesk starts the desk, the stage that hears desk and program, and the
// program as an overlay between them. more is added to the rig's output.
func besideADesk(t *testing.T, more ...string) (p *processRun, d *desk, stop func()) {
	t.Helper()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	env := append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	path := filepath.Join(dir, "rig.yaml")
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	write := func(sacn, meter string) {
		if err := os.WriteFile(path, fmt.Appendf(nil, strings.Replace(overlayRig, "mode: overlay", "mode: overlay"+strings.Join(more, ""), 1), sacn, meter, profiles), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("127.0.0.1:6000", "127.0.0.1:1")
	if err := os.WriteFile(filepath.Join(dir, "stage.yaml"), []byte("seed: 7\nmeter: {integration_ms: 80, period_ms: 100}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "stage", path, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--truth=127.0.0.1:0", "--json")
	cmd.Env = env
	st, err := startStageCommand(cmd)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.stop)
	p = &processRun{t: t, out: filepath.Join(dir, "out"), stage: st, wire: newTee(t, st.ready.SACN), lines: make(chan string, 1000)}
	write(p.wire.conn.LocalAddr().String(), st.ready.Meter)
	if p.rig, err = rig.Load(path); err != nil {
		t.Fatal(err)
	}

	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	d = &desk{conn: conn, to: []*net.UDPAddr{net.UDPAddrFromAddrPort(st.ready.SACN), {IP: net.IPv4(127, 0, 0, 1), Port: 5568}}}
	// The desk has the wash lit: dimmer at a fifth, all emitters at half.
	copy(d.slots[:], []byte{51, 51, 0, 128, 0, 128, 0, 128, 0, 128, 0})
	m := p.rig.Fixtures[1].Mode
	if err := m.Rest(d.slots[:]); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); d.run(ctx) }()
	stop = func() { cancel(); <-done }
	t.Cleanup(func() { stop(); conn.Close() })
	p.start(exe, path, env)
	return p, d, stop
}

// Beside a desk: its fade passes through us with every step, at most one of its
// frames late; the lamp lands; and at the end the universe is the desk's again,
// without a step above the limits.
func TestOverlayBesideADesk(t *testing.T) {
	if !inNamespace(t, "TestOverlayBesideADesk") {
		return
	}
	p, d, stop := besideADesk(t)
	code := p.end()
	stop()
	if !p.through(code) {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkOverlay(d.slots[:14])
	if f := p.summary().Fixtures[1]; f.Found == nil {
		t.Errorf("the desk's look was not read as found: %+v", f)
	}
	var sent []time.Time // when each packet came by
	var seen []time.Time // when each value of the desk's fade came out of us
	var values []byte
	var last []byte
	for _, g := range p.wire.packets() {
		if len(g.data) != 126+512 || g.data[21] != 4 {
			t.Fatalf("a packet of %d bytes: the slot count of the desk is 512", len(g.data))
		}
		if g.data[108] <= 100 {
			t.Fatalf("priority %d does not lie above the desk's", g.data[108])
		}
		if g.data[112]&0x40 != 0 {
			continue
		}
		last = g.data[126:]
		sent = append(sent, g.at)
		if v := last[299]; len(values) == 0 || values[len(values)-1] != v {
			values, seen = append(values, v), append(seen, g.at)
		}
	}
	// The steps come out in the order in which they came in. A step is owed where its value stood for two of our
	// frames and we sent a packet in that time, later than one frame after it came. How many of these
	// were late is the machine's affair, and only told; that no step is lost on a machine that keeps
	// time is shown in virtual time, in dmx/sacn.
	for i := 1; i < len(values); i++ {
		if step := values[i] - values[i-1]; step >= 128 {
			t.Errorf("the desk's fade went back from %d to %d", values[i-1], values[i])
		}
	}
	const frame = time.Second / 44
	owed, late := 0, 0
	for i := 1; i < len(d.fade)-1; i++ {
		if d.fade[i].Before(seen[0]) || d.fade[i+1].After(seen[len(seen)-1]) || d.fade[i+1].Sub(d.fade[i]) < 2*frame {
			continue
		}
		if !slices.ContainsFunc(sent, func(at time.Time) bool { return at.After(d.fade[i].Add(frame)) && at.Before(d.fade[i+1]) }) {
			continue
		}
		owed++
		k := slices.IndexFunc(seen, func(at time.Time) bool { return !at.Before(d.fade[i]) })
		for k < len(values) && values[k] != byte(i+1) && seen[k].Before(d.fade[i+1]) {
			k++
		}
		if k == len(values) || values[k] != byte(i+1) {
			late++
		} else if seen[k].Sub(d.fade[i]) > 2*frame {
			late++
		}
	}
	t.Logf("of %d steps of the desk's fade %d came out more than a frame late or not at all", owed, late)
	if len(values) < 20 {
		t.Errorf("of %d steps of the desk's fade only %d came out", len(d.fade), len(values))
	}
	if !bytes.Equal(last[:14], d.slots[:14]) {
		t.Errorf("given back at %v, the desk has %v", last[:14], d.slots[:14])
	}
}

// The priority that the rig asks for is the one on the wire, in the arming text
// and in the journal; without one it is one above the highest heard, in all
// three. One that is not above the desk's is refused: nothing of ours would show.
func TestThePriorityOfAnOverlayIsOneAndTheSameEverywhere(t *testing.T) {
	if !inNamespace(t, "TestThePriorityOfAnOverlayIsOneAndTheSameEverywhere") {
		return
	}
	for _, c := range []struct {
		rig, said string
		want      byte
	}{
		{", priority: 130", "priority 130;", 130},
		{"", "sending at priority 101", 101},
		{", priority: 100", "priority 100 is not above it", 0},
	} {
		t.Run(fmt.Sprint(c.want), func(t *testing.T) {
			p, d, stop := besideADesk(t, c.rig)
			defer stop()
			if c.want > 0 {
				p.waitLine("background at probe")
				p.match.Process.Signal(os.Interrupt)
			}
			code := p.end()
			if text := p.text.String(); !strings.Contains(text, c.said) {
				t.Errorf("it does not say %q:\n%s", c.said, text)
			}
			if c.want == 0 {
				if n := len(p.wire.packets()); n > 0 || code != exitNotAll {
					t.Errorf("exit code %d, %d packets", code, n)
				}
				return
			}
			for _, g := range p.wire.packets() {
				if g.data[108] != c.want {
					t.Fatalf("priority %d on the wire, want %d", g.data[108], c.want)
				}
			}
			p.givenBack(d.slots[:])
			if i := p.summary().Info; i.Priority != c.want {
				t.Errorf("the journal says %d", i.Priority)
			}
		})
	}
}

// A second desk that comes in above us owns the light: readings are void while
// it does, that is said, and the run goes on when it has left.
func TestASourceAboveUsVoidsTheReadings(t *testing.T) {
	if !inNamespace(t, "TestASourceAboveUsVoidsTheReadings") {
		return
	}
	p, d, _ := besideADesk(t)
	p.waitRead("wash", 1)
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	rival := &desk{conn: conn, to: d.to, cid: "another desk....", priority: 190}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); rival.run(ctx) }()
	p.waitLine("readings are void")
	cancel()
	<-done
	if code := p.end(); !p.through(code) {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkOverlay(d.slots[:14])
}

// After kill -9 receivers fall back to the desk within the standard's 2.5 s of
// data loss (E1.31 6.7.1), because our stream was only ever laid over its.
func TestAfterKillMinusNineTheDeskHasTheStage(t *testing.T) {
	if !inNamespace(t, "TestAfterKillMinusNineTheDeskHasTheStage") {
		return
	}
	p, d, _ := besideADesk(t)
	p.waitRead("wash", 2)
	codes := func() []uint32 {
		all, err := stage.AskTruth(context.Background(), p.stage.ready.Truth)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(all, func(l stage.TruthLine) bool { return l.Fixture == "wash" })
		return all[i].Codes
	}
	want, err := p.rig.Fixtures[1].Mode.Decode(0, d.slots[:])
	if err != nil {
		t.Fatal(err)
	}
	p.match.Process.Kill()
	killed := time.Now()
	p.end()
	p.checkOverlay(d.slots[:14])
	if slices.Equal(codes(), want) && time.Since(killed) < time.Second {
		t.Fatal("the stage showed the desk's look before: this test proves nothing")
	}
	for !slices.Equal(codes(), want) {
		if time.Since(killed) > 10*time.Second {
			t.Fatalf("ten seconds after the kill the stage stands at %v, the desk at %v", codes(), want)
		}
		time.Sleep(50 * time.Millisecond) // asking again, not waiting for luck
	}
	if d := time.Since(killed); d < 1500*time.Millisecond {
		t.Errorf("the stage fell back after %s: earlier than data loss is", d)
	}
}

// When the disk is full the journal can keep nothing more: the run ends gently,
// and says why. The disk is played by the system's limit on a file's size.
func TestAFullDiskEndsTheRunGently(t *testing.T) {
	if _, err := exec.LookPath("prlimit"); err != nil {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal("needs prlimit")
		}
		t.Skip("needs prlimit")
	}
	p := startProcesses(t, "prlimit", "--fsize=20000")
	if code := p.end(); code != exitNotAll {
		t.Errorf("exit code %d", code)
	}
	if text := p.text.String(); !strings.Contains(text, "what was measured can no longer be kept") {
		t.Errorf("the reason is not said:\n%s", text)
	}
	p.checkPackets(true)
	if s := p.summary(); !s.Torn && s.Complete {
		t.Error("a journal of 20000 bytes holds the whole run: the test has lost what it watches")
	}
}
