package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"trueup/loop/session/rig"
)

// soakRig is 150 lamps on five universes beside a desk, seen by eight probes.
const soakRig = `rig: soak
output: {mode: overlay, multicast: false, unicast: ["%s"]}
feeds:
  - {name: meter, kind: tcp, address: "%s"}
safety: {level_cap: 50 %%}
target: {color: 4300 K, level: 25 %%}
fixtures:
`

// soakStage is a stage whose meter scatters, so that a lamp takes many readings.
const soakStage = "seed: 7\nmeter: {integration_ms: 400, period_ms: 500, sigma_uv: 0.002}\n"

const (
	soakLamps  = 150
	soakProbes = 8
	// keepAlive is what no universe may be silent for: the standard's keep-alive
	// comes every 800 ms to 1000 ms (E1.31-2018 6.6.2), and a tenth for the machine.
	keepAlive = 1100 * time.Millisecond
	// floodRate is in datagrams a second.
	floodRate = 50_000
)

// soakTime is how long to soak: TRUEUP_SOAK, or 20 s among the long forms.
func soakTime(t *testing.T) time.Duration {
	t.Helper()
	if text := os.Getenv("TRUEUP_SOAK"); text != "" {
		d, err := time.ParseDuration(text)
		if err != nil || d < 10*time.Second || d > 24*time.Hour {
			t.Fatalf("TRUEUP_SOAK is %q: want a time from 10s to 24h, such as 30m", text)
		}
		return d
	}
	if os.Getenv("TRUEUP_LONG") == "" {
		t.Skip("TRUEUP_SOAK says for how long, such as 30m; TRUEUP_LONG=1 has a short form")
	}
	return 20 * time.Second
}

// The program beside a desk, for as long as one likes: 150 lamps, eight probes,
// a meter that delivers. What it takes of the machine stays flat, and no universe
// is silent for longer than the standard's keep-alive, also while another process
// throws 50 000 datagrams a second at its port. Prints its figures every minute:
//
//	TRUEUP_SOAK=30m go test ./cmd/trueup -run Soak -v -timeout 0
func TestSoakBesideADesk(t *testing.T) {
	d := soakTime(t)
	if !inNamespaceFor(t, "TestSoakBesideADesk", d+2*time.Minute, os.Stdout) {
		return
	}
	s := startSoak(t)
	var seen []vitals // of the run under way
	began := time.Now()
	printed, flooding := began, false
	every := min(time.Minute, d/4)
	flood := min(2*time.Minute, d/4)
	machine := watchMachine(t)
	fmt.Printf("%8s %9s %10s %12s %8s %9s\n", "time", "RSS MB", "goroutines", "descriptors", "gap ms", "stall ms")
	for now := range time.Tick(time.Second) {
		age := now.Sub(began)
		if v, ok := s.vitals(age); ok {
			seen = append(seen, v)
		}
		if !flooding && age >= d/2 {
			flooding = true
			go s.flood(flood)
		}
		if (now.Sub(printed) >= every || age >= d) && len(seen) > 0 {
			printed = now
			v, note := seen[len(seen)-1], ""
			if age >= d/2 && age <= d/2+flood+every {
				note = fmt.Sprintf("flood of %d datagrams a second", floodRate)
			}
			gap, stall := s.wire.worst(), machine.worst()
			fmt.Printf("%8s %9.1f %10d %12d %8d %9d  %s\n", age.Round(time.Second), v.rss, v.goroutines, v.descriptors, gap.Milliseconds(), stall.Milliseconds(), note)
			if gap > keepAlive+stall {
				t.Errorf("in the minute before %s a universe was silent for %v, want at most %v; the machine itself stood still for %v", age.Round(time.Second), gap, keepAlive, stall)
			}
		}
		if age >= d {
			break
		}
		if s.over() { // all matched: once more
			if code := s.end(); code != exitLanded && code != exitNotAll {
				t.Fatalf("exit code %d after %s:\n%s", code, age.Round(time.Second), s.tail())
			}
			flat(t, seen)
			seen = nil
			s.start()
		}
	}
	if n := s.wire.alive(2 * keepAlive); n != 5 {
		t.Errorf("levels on %d universes, want 5", n)
	}
	flat(t, seen)
	s.match.Process.Signal(os.Interrupt)
	if code := s.end(); code != exitStopped {
		t.Errorf("exit code %d:\n%s", code, s.tail())
	}
}

// flat fails where what a run takes of the machine grows: the second half of its
// time is compared with the second quarter, when everything has begun.
func flat(t *testing.T, seen []vitals) {
	t.Helper()
	if len(seen) < 8 {
		fmt.Printf("a run of %d s: too short to tell whether it is flat\n", len(seen))
		return
	}
	quarter, half := seen[len(seen)/4:len(seen)/2], seen[len(seen)/2:]
	// Each fixture that moves has a goroutine while it does, and a handful come and go with every reading. What is
	// never given back is there in the quietest moment as well. A short run is still opening its feeds in its second
	// quarter: there the busiest moment of that counts.
	for name, of := range map[string]func(vitals) int{"goroutines": func(v vitals) int { return v.goroutines }, "descriptors": func(v vitals) int { return v.descriptors }} {
		counts := func(all []vitals) (n []int) {
			for _, v := range all {
				n = append(n, of(v))
			}
			return n
		}
		before, after := slices.Min(counts(quarter)), slices.Min(counts(half))
		if len(seen) < 120 {
			before = slices.Max(counts(quarter))
		}
		if after > before+5 {
			t.Errorf("%s went from %d to %d", name, before, after)
		}
	}
	var at, rss []float64
	for _, v := range half {
		at, rss = append(at, v.at.Minutes()), append(rss, v.rss)
	}
	_, slope := stat.LinearRegression(at, rss, nil, false)
	fmt.Printf("RSS slope in the second half of a run of %d s: %+.3f MB a minute\n", len(seen), slope)
	// Less than a tenth of a gigabyte in a day of ten hours. A heap that has just
	// begun tells nothing yet.
	if len(seen) >= 600 && slope > 0.15 {
		t.Errorf("RSS grows by %.3f MB a minute", slope)
	}
}

// vitals is what the program takes of the machine at one moment.
type vitals struct {
	at                      time.Duration
	rss                     float64 // MB
	goroutines, descriptors int
}

// soak is the program at work, with desk, stage and the wire to it.
type soak struct {
	t     *testing.T
	dir   string
	exe   string
	env   []string
	match *exec.Cmd
	about string // the file in which the program tells its goroutines
	wire  *gapWire
	mu    sync.Mutex
	lines []string
	said  chan struct{} // closed when the program has said its last
}

func startSoak(t *testing.T) *soak {
	t.Helper()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	s := &soak{t: t, dir: dir, exe: exe, about: filepath.Join(dir, "vitals")}
	s.env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	path := filepath.Join(dir, "rig.yaml")
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	write := func(sacn, meter string) {
		var b strings.Builder
		fmt.Fprintf(&b, soakRig, sacn, meter)
		for i := range soakLamps {
			fmt.Fprintf(&b, "  - {name: wash %d, profile: %s/farnwibble-wash-16.yaml, address: %d/%d, probe: p%d}\n", i+1, profiles, 1+i/30, 1+14*(i%30), 1+i%soakProbes)
		}
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("127.0.0.1:6000", "127.0.0.1:1")
	if err := os.WriteFile(filepath.Join(dir, "stage.yaml"), []byte(soakStage), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "stage", path, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--json")
	cmd.Env = s.env
	st, err := startStageCommand(cmd)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.stop)
	s.wire = newGapWire(t, st.ready.SACN)
	write(s.wire.conn.LocalAddr().String(), st.ready.Meter)
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	s.desk(r, st.ready.SACN)
	s.start()
	return s
}

// start starts the program.
func (s *soak) start() {
	os.Remove(s.about)
	s.match = exec.Command(s.exe, "match", filepath.Join(s.dir, "rig.yaml"), "--live", "--yes", "--out", filepath.Join(s.dir, "out"))
	s.match.Env = append(s.env, vitalsEnv+"="+s.about)
	out, err := s.match.StdoutPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	s.match.Stderr = s.match.Stdout
	if err := s.match.Start(); err != nil {
		s.t.Fatal(err)
	}
	match := s.match
	s.t.Cleanup(func() { match.Process.Kill() })
	s.said = make(chan struct{})
	go s.listen(out, s.said)
}

// end waits for the program and returns its exit code.
func (s *soak) end() int {
	<-s.said
	s.match.Wait()
	return s.match.ProcessState.ExitCode()
}

// listen keeps the last lines of output.
func (s *soak) listen(out io.Reader, said chan<- struct{}) {
	defer close(said)
	for in := bufio.NewScanner(out); in.Scan(); {
		s.mu.Lock()
		s.lines = append(s.lines, in.Text())
		s.lines = s.lines[max(0, len(s.lines)-30):]
		s.mu.Unlock()
	}
}

// over tells whether the program has ended.
func (s *soak) over() bool {
	select {
	case <-s.said:
		return true
	default:
		return false
	}
}

func (s *soak) tail() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return strings.Join(s.lines, "\n")
}

// desk sends five universes twenty times a second until the test ends: every lamp
// lit at a fifth.
func (s *soak) desk(r *rig.Rig, to netip.AddrPort) {
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		s.t.Fatal(err)
	}
	looks := map[byte]*desk{}
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		d := looks[byte(f.Address.Universe)]
		if d == nil {
			d = &desk{}
			looks[byte(f.Address.Universe)] = d
		}
		slots := d.slots[f.Address.Slot-1:]
		copy(slots, []byte{51, 51, 0, 128, 0, 128, 0, 128, 0, 128, 0})
		if err := f.Mode.Rest(slots[:f.Mode.Footprint]); err != nil {
			s.t.Fatal(err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(50 * time.Millisecond)
		defer tick.Stop()
		for ctx.Err() == nil {
			for u, d := range looks {
				d.seq++
				b := d.packet()
				b[114] = u
				conn.WriteToUDP(b, net.UDPAddrFromAddrPort(to))
				conn.WriteToUDP(b, &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 5568})
			}
			<-tick.C
		}
	}()
	s.t.Cleanup(func() { cancel(); <-done; conn.Close() })
}

// flood lets another process throw datagrams at the program for a while.
func (s *soak) flood(d time.Duration) {
	out, err := exec.Command("floodpeer", "127.0.0.1:5568", fmt.Sprint(floodRate), d.String()).CombinedOutput()
	if err != nil {
		s.t.Errorf("flood: %v: %s", err, out)
		return
	}
	fmt.Print(string(out))
}

// vitals asks the system, and the program's own file for its goroutines.
func (s *soak) vitals(at time.Duration) (v vitals, ok bool) {
	v.at = at
	text, err := os.ReadFile(s.about)
	if err != nil {
		return v, false // it has not begun
	}
	if _, err := fmt.Sscan(string(text), &v.goroutines); err != nil {
		return v, false
	}
	files, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", s.match.Process.Pid))
	if err != nil {
		return v, false
	}
	v.descriptors = len(files)
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.match.Process.Pid))
	if err != nil {
		return v, false
	}
	_, rest, _ := strings.Cut(string(status), "VmRSS:")
	var kB float64
	if _, err := fmt.Sscan(rest, &kB); err != nil {
		return v, false
	}
	v.rss = kB / 1024
	return v, true
}

// gapWire passes datagrams on and keeps the longest time between two of one
// universe, by the system's time stamps: a test that gets no processor sees
// nothing too late.
type gapWire struct {
	conn *net.UDPConn
	mu   sync.Mutex
	last map[uint16]time.Time
	gap  time.Duration // longest since the last look
}

func newGapWire(t *testing.T, to netip.AddrPort) *gapWire {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	raw, err := conn.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	conn.SetReadBuffer(4 << 20)
	if cerr := raw.Control(func(fd uintptr) { err = syscall.SetsockoptInt(int(fd), syscall.SOL_SOCKET, syscall.SO_TIMESTAMPNS, 1) }); cerr != nil || err != nil {
		t.Fatal(cerr, err)
	}
	w := &gapWire{conn: conn, last: map[uint16]time.Time{}}
	done := make(chan struct{})
	go func() {
		defer close(done)
		buf, oob := make([]byte, 2048), make([]byte, 256)
		for {
			n, on, _, _, err := conn.ReadMsgUDPAddrPort(buf, oob)
			if err != nil {
				return
			}
			w.see(buf[:n], oob[:on])
			conn.WriteToUDPAddrPort(buf[:n], to)
		}
	}()
	t.Cleanup(func() { conn.Close(); <-done })
	return w
}

// see takes a datagram; only levels count, up to the stream's goodbye.
func (w *gapWire) see(b, oob []byte) {
	if len(b) < 126 || b[21] != 4 {
		return
	}
	at := time.Now()
	if msgs, err := syscall.ParseSocketControlMessage(oob); err == nil && len(msgs) > 0 && len(msgs[0].Data) >= 16 {
		d := msgs[0].Data
		at = time.Unix(int64(le64(d)), int64(le64(d[8:])))
	}
	u := uint16(b[113])<<8 | uint16(b[114])
	w.mu.Lock()
	defer w.mu.Unlock()
	if b[112]&0x40 != 0 {
		delete(w.last, u)
		return
	}
	if before, ok := w.last[u]; ok {
		w.gap = max(w.gap, at.Sub(before))
	}
	w.last[u] = at
}

// alive counts the universes that sent something not longer ago than most.
func (w *gapWire) alive(most time.Duration) (n int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, at := range w.last {
		if time.Since(at) <= most {
			n++
		}
	}
	return n
}

// worst is the longest gap since the last look.
func (w *gapWire) worst() time.Duration {
	w.mu.Lock()
	defer w.mu.Unlock()
	d := w.gap
	w.gap = 0
	return d
}

// machine notices when the machine gives this process no time either: then a gap
// on the wire says nothing of the program.
type machine struct {
	mu    sync.Mutex
	stall time.Duration
}

func watchMachine(t *testing.T) *machine {
	const every = 20 * time.Millisecond
	m := &machine{}
	quit, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for last := time.Now(); ; last = time.Now() {
			select {
			case <-quit:
				return
			case <-time.After(every):
			}
			m.mu.Lock()
			m.stall = max(m.stall, time.Since(last)-every)
			m.mu.Unlock()
		}
	}()
	t.Cleanup(func() { close(quit); <-done })
	return m
}

// worst is the longest stall since the last look.
func (m *machine) worst() time.Duration {
	m.mu.Lock()
	defer m.mu.Unlock()
	d := m.stall
	m.stall = 0
	return d
}

func le64(b []byte) (v uint64) {
	for i := range 8 {
		v |= uint64(b[i]) << (8 * i)
	}
	return v
}
