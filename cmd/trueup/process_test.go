package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/stage"
	"trueup/safety"
	second "trueup/safety/check"
)

// smallRig is matched in a few seconds: a reference that cannot be changed,
// two washes of different makers, and limits faster than the default ones.
const smallRig = `rig: small
output: {mode: own, unicast: ["%s"]}
feeds:
  - {name: meter, kind: tcp, address: "%s"}
safety: {rise: 100 %%/s, fall: 100 %%/s, level_cap: 50 %%}
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: mark}
  - {name: cob, profile: %[3]s/wiffelmoor-wash-8.yaml, address: 1/101, probe: mark}
`

// datagram is one packet that left the program, and when it came by.
type datagram struct {
	at   time.Time
	data []byte
}

// tee stands in the wire between the program and the stage: it keeps every
// datagram and passes it on.
type tee struct {
	conn *net.UDPConn
	to   netip.AddrPort
	mu   sync.Mutex
	seen []datagram
}

func newTee(t *testing.T, to netip.AddrPort) *tee {
	t.Helper()
	return newTeeAt(t, net.IPv4(127, 0, 0, 1), to)
}

func newTeeAt(t *testing.T, at net.IP, to netip.AddrPort) *tee {
	t.Helper()
	conn, err := net.ListenUDP("udp", &net.UDPAddr{IP: at})
	if err != nil {
		t.Fatal(err)
	}
	on, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	w := &tee{conn: conn, to: to}
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
			on.WriteToUDPAddrPort(buf[:n], to) // a dead stage is a case under test
		}
	}()
	t.Cleanup(func() { conn.Close(); <-done; on.Close() })
	return w
}

// forget drops what has passed.
func (w *tee) forget() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.seen = nil
}

func (w *tee) packets() []datagram {
	w.mu.Lock()
	defer w.mu.Unlock()
	return append([]datagram(nil), w.seen...)
}

// processRun is the program and the stage as two processes, with the tee
// between them.
type processRun struct {
	t     *testing.T
	rig   *rig.Rig
	out   string
	match *exec.Cmd
	stage *stageProcess
	wire  *tee
	text  bytes.Buffer
	lines chan string
	exe   string
	env   []string
}

func startProcesses(t *testing.T, wrapper ...string) *processRun {
	t.Helper()
	return startProcessesOn(t, "seed: 7\nmeter: {integration_ms: 80, period_ms: 100}\n", wrapper...)
}

// startProcessesOn takes what stands on the stage.
func startProcessesOn(t *testing.T, stageFile string, wrapper ...string) *processRun {
	t.Helper()
	t.Parallel()
	if testing.Short() {
		t.Skip("needs several seconds of real time")
	}
	p, path, write := onSmallStage(t, stageFile)
	p.wire = newTee(t, p.stage.ready.SACN)
	write(p.wire.conn.LocalAddr().String(), p.stage.ready.Meter)
	var err error
	if p.rig, err = rig.Load(path); err != nil {
		t.Fatal(err)
	}
	p.start(p.exe, path, p.env, wrapper...)
	return p
}

// onSmallStage starts a stage for the small rig, in a folder that is home too. write writes the rig file
// with the addresses that the program is to use.
func onSmallStage(t *testing.T, stageFile string) (p *processRun, path string, write func(sacn, meter string)) {
	t.Helper()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	// The identity of the installation lives in the home folder.
	env := append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	path = filepath.Join(dir, "rig.yaml")
	write = func(sacn, meter string) {
		if err := os.WriteFile(path, fmt.Appendf(nil, smallRig, sacn, meter, profiles), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("127.0.0.1:5568", "127.0.0.1:1")
	if err := os.WriteFile(filepath.Join(dir, "stage.yaml"), []byte(stageFile), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "stage", path, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--truth=127.0.0.1:0", "--json")
	cmd.Env = env
	st, err := startStageCommand(cmd)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.stop)
	return &processRun{t: t, exe: exe, env: env, out: filepath.Join(dir, "out"), stage: st, lines: make(chan string, 1000)}, path, write
}

// start starts the program, if need be through another one.
func (p *processRun) start(exe, path string, env []string, wrapper ...string) {
	p.t.Helper()
	p.exe, p.env = exe, env
	p.launch(append(wrapper, exe, "match", path, "--live", "--yes", "--out", p.out)...)
}

// launch starts a command line beside the stage, and reads what it says.
func (p *processRun) launch(args ...string) {
	p.t.Helper()
	p.lines = make(chan string, 1000)
	lines := p.lines
	p.match = exec.Command(args[0], args[1:]...)
	p.match.Env = p.env
	r, w, err := os.Pipe()
	if err != nil {
		p.t.Fatal(err)
	}
	p.match.Stdout, p.match.Stderr = w, w
	if err := p.match.Start(); err != nil {
		p.t.Fatal(err)
	}
	w.Close()
	go func() {
		defer close(lines)
		for in := bufio.NewScanner(r); in.Scan(); {
			lines <- in.Text()
		}
		r.Close()
	}()
	match := p.match
	p.t.Cleanup(func() { match.Process.Kill() })
}

// waitLine waits for a line of output that holds text.
func (p *processRun) waitLine(text string) {
	p.t.Helper()
	timeout := time.After(longWait)
	for {
		select {
		case line, ok := <-p.lines:
			if !ok {
				p.t.Fatalf("the program ended before it said %q:\n%s", text, p.text.String())
			}
			p.text.WriteString(line + "\n")
			if strings.Contains(line, text) {
				return
			}
		case <-timeout:
			p.t.Fatalf("no line with %q within %v:\n%s", text, longWait, p.text.String())
		}
	}
}

// end waits for the program to end and returns its exit code.
func (p *processRun) end() int {
	p.t.Helper()
	timeout := time.After(longWait)
	for open := true; open; {
		select {
		case line, ok := <-p.lines:
			p.text.WriteString(line + "\n")
			open = ok
		case <-timeout:
			p.t.Fatalf("the program hangs:\n%s", p.text.String())
		}
	}
	p.match.Wait()
	return p.match.ProcessState.ExitCode()
}

// summary reads the journal of the run back: it must be whole.
func (p *processRun) summary() *session.Summary {
	p.t.Helper()
	found, err := filepath.Glob(filepath.Join(p.out, "*", "journal.jsonl"))
	if err != nil || len(found) != 1 {
		p.t.Fatalf("journals: %v %v", found, err)
	}
	f, err := os.Open(found[0])
	if err != nil {
		p.t.Fatal(err)
	}
	defer f.Close()
	entries, torn, err := session.ReadJournal(f)
	if err != nil {
		p.t.Fatal(err)
	}
	if _, err := core.Replay(entries); err != nil {
		p.t.Errorf("the run can not be played again: %v", err)
	}
	s, err := session.Summarise(entries)
	if err != nil {
		p.t.Fatal(err)
	}
	s.Torn = torn
	return s
}

// checkPackets runs the second opinion over everything that left the program.
//
// A capture's clock is not the governor's: on a busy machine packets come by
// late and in bunches. So the packets are judged twice: with the times at which
// they came by, for every rule but the speed of change, and one step limit
// (safety.MaxStep) apart, for the speed: no frame may make up for more. The
// exact check of speed is in safety's own tests, in virtual time.
func (p *processRun) checkPackets(orderly bool) {
	p.t.Helper()
	c, err := session.Compile(p.rig)
	if err != nil {
		p.t.Fatal(err)
	}
	cfg := safety.Config{Limits: p.rig.Safety.Limits, Heads: c.Heads, Start: c.Start}
	p.judge(cfg, func([]byte) []byte { return nil }, func(asCame *second.Checker, at time.Time, goodbyes int) {
		if !orderly {
			return
		}
		asCame.End(at, c.Start)
		if goodbyes != 3 || !asCame.Terminated() {
			p.t.Errorf("%d packets with the stream terminated, want 3 (E1.31 6.2.6)", goodbyes)
		}
	})
}

// judge runs the second opinion over all packets of levels; base gives what the
// desk had when levels went out, and end looks at how the run was left.
func (p *processRun) judge(cfg safety.Config, base func(levels []byte) []byte, end func(asCame *second.Checker, at time.Time, goodbyes int)) {
	p.t.Helper()
	asCame, asSteps := second.New(cfg), second.New(cfg)
	packets := p.wire.packets()
	if len(packets) < 40 {
		p.t.Fatalf("only %d packets: the test has lost what it watches", len(packets))
	}
	goodbyes := 0
	var at, step time.Time
	for _, d := range packets {
		if len(d.data) < 126 || d.data[21] != 4 { // discovery and the like
			continue
		}
		if d.data[112]&0x40 != 0 {
			goodbyes++
		}
		step = step.Add(max(safety.MaxStep, d.at.Sub(at)))
		at = d.at
		desk := base(d.data[126:])
		asCame.Packet(at, d.data, desk)
		asSteps.Packet(step, d.data, desk)
	}
	end(asCame, at, goodbyes)
	speed := map[string]bool{"rise": true, "fall": true, "colour": true}
	for _, v := range asCame.Violations() {
		if !speed[v.Rule] {
			p.t.Errorf("violation: %v", v)
		}
	}
	for _, v := range asSteps.Violations() {
		if speed[v.Rule] {
			p.t.Errorf("violation: %v", v)
		}
	}
}

func startStageCommand(cmd *exec.Cmd) (*stageProcess, error) {
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	s := &stageProcess{cmd: cmd}
	line, err := bufio.NewReader(out).ReadBytes('\n')
	if err == nil {
		err = json.Unmarshal(line, &s.ready)
	}
	return s, err
}

// Two processes match a small rig over real sockets; every packet obeys the
// limits, and the lamps truly stand where the report says.
func TestMatchOverSockets(t *testing.T) {
	p := startProcesses(t)
	truth := map[string]colorcalc.UV{}
	for _, name := range []string{"wash", "cob"} {
		p.waitLine(name + ": verified")
		// Asked for at once: the next ramp begins only now.
		all, err := stage.AskTruth(context.Background(), p.stage.ready.Truth)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range all {
			if l.Fixture == name || l.Fixture == "lamp" {
				truth[l.Fixture] = colorcalc.XY{X: l.X, Y: l.Y}.UV()
			}
		}
	}
	if code := p.end(); !p.through(code) {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
	s := p.summary()
	if !s.Complete || s.Torn {
		t.Errorf("journal: complete %v, torn %v", s.Complete, s.Torn)
	}
	for _, f := range s.Fixtures[1:] {
		// Three tolerances: no claim with 95 % confidence is so far out by chance.
		if d := truth[f.Name].Dist(truth["lamp"]); f.Final() == nil || f.Final().Landed() && d > 2*trueLimit {
			t.Errorf("%s truly stands %.4f from the reference: %+v", f.Name, d, f.Final())
		}
	}
}

func TestCtrlCRampsDownAndSaysGoodbye(t *testing.T) {
	for name, sig := range map[string]os.Signal{"Ctrl-C": os.Interrupt, "SIGTERM": syscall.SIGTERM} {
		t.Run(name, func(t *testing.T) {
			p := startProcesses(t)
			p.waitRead("wash", 1)
			p.match.Process.Signal(sig)
			if code := p.end(); code != exitStopped {
				t.Errorf("exit code %d:\n%s", code, p.text.String())
			}
			p.checkPackets(true)
			if s := p.summary(); s.Stop == "" || s.Complete {
				t.Errorf("stop %q, complete %v", s.Stop, s.Complete)
			}
		})
	}
}

// A second Ctrl-C leaves the levels where they are, at once.
func TestSecondCtrlCHoldsTheLevels(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 1)
	p.match.Process.Signal(os.Interrupt)
	time.Sleep(oneWish + 20*time.Millisecond) // of real time: as a person presses again
	seen := len(p.wire.packets())
	p.match.Process.Signal(syscall.SIGTERM) // another one: two of one kind may arrive as one
	if code := p.end(); code != exitStopped {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	var before, after []byte
	for i, d := range p.wire.packets() {
		if len(d.data) < 126 || d.data[21] != 4 {
			continue
		}
		if i < seen {
			before = d.data[126:]
		}
		after = d.data[126:]
	}
	lit := 0
	for i := range after {
		if i == 0 && after[i] < before[i]/2 { // the coarse dimmer: some frames pass until both are heard
			t.Errorf("slot %d went from %d to %d with the second Ctrl-C", i+1, before[i], after[i])
		}
		lit += int(after[i])
	}
	if lit == 0 {
		t.Error("the stage is dark: levels were not held")
	}
}

// A feed that dies in mid-run pauses it, with the reason: the lamps stay as they are until
// a person ends it, gently.
func TestAStageThatDiesPausesTheRun(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 1)
	p.stage.cmd.Process.Kill()
	p.waitLine("PAUSED")
	p.match.Process.Signal(os.Interrupt)
	if code := p.end(); code != exitStopped {
		t.Errorf("exit code %d", code)
	}
	if text := p.text.String(); !strings.Contains(text, "no usable reading of probe \"mark\"") || !strings.Contains(text, "feed meter: nothing answers at 127.0.0.1") {
		t.Errorf("the reason is not said:\n%s", text)
	}
	p.checkPackets(true)
	if s := p.summary(); s.Stop == "" {
		t.Error("the journal does not say why the run ended")
	}
}

// After kill -9 the journal reads back whole, and nothing was sent that breaks
// a limit.
func TestKillMinusNineLeavesAWholeJournal(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 2)
	p.match.Process.Kill()
	p.end()
	p.checkPackets(false)
	if s := p.summary(); s.Complete || s.Readings < 5 {
		t.Errorf("complete %v with %d readings", s.Complete, s.Readings)
	}
}
