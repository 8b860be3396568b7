package feed

import (
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// peer finds a program that a test talks to. Without it the test skips, or
// fails where everything must be there.
func peer(t *testing.T, name string) string {
	t.Helper()
	p, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return p
}

// begin starts a program and ends it, at the latest, with the test.
func begin(t *testing.T, stdin io.Reader, name string, args ...string) (kill func()) {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin = stdin
	var out strings.Builder
	var mu sync.Mutex
	cmd.Stdout, cmd.Stderr = writer(func(p []byte) { mu.Lock(); out.Write(p); mu.Unlock() }), writer(func(p []byte) { mu.Lock(); out.Write(p); mu.Unlock() })
	cmd.WaitDelay = time.Second
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var once sync.Once
	kill = func() { once.Do(func() { cmd.Process.Kill(); cmd.Wait() }) }
	t.Cleanup(func() {
		kill()
		if t.Failed() {
			t.Logf("%s said: %s", name, out.String())
		}
	})
	return kill
}

type writer func([]byte)

func (w writer) Write(p []byte) (int, error) { w(p); return len(p), nil }

func openFeed(t *testing.T, c Config) *Feed {
	t.Helper()
	f, err := Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// address waits until a feed listens.
func address(t *testing.T, f *Feed) net.Addr {
	t.Helper()
	ctx := soon(t)
	for {
		f.mu.Lock()
		a, changed := f.address, f.changed
		f.mu.Unlock()
		if a != nil {
			return a
		}
		select {
		case <-changed:
		case <-ctx.Done():
			t.Fatal("does not listen: ", f.Status().Why)
		}
	}
}

// until waits for a state.
func until(t *testing.T, f *Feed, what string, ok func(Status) bool) {
	t.Helper()
	ctx := soon(t)
	for {
		f.mu.Lock()
		changed, s := f.changed, f.status(time.Now())
		f.mu.Unlock()
		if ok(s) {
			return
		}
		select {
		case <-changed:
		case <-ctx.Done():
			t.Fatalf("never %s: %+v", what, s)
		}
	}
}

func next(t *testing.T, f *Feed) Reading {
	t.Helper()
	r, err := f.Next(soon(t))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func lineOf(seq int) string {
	return fmt.Sprintf(`{"seq":%d,"x":0.31%02d,"y":0.3290,"lux":100}`, seq, seq%100)
}

// freePort finds a port that a program may listen on a moment later.
func freePort(t *testing.T) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	return port
}

// A meter on a serial line is read, unplugged, plugged in again, and read on.
func TestSerialUnplugAndReplug(t *testing.T) {
	socat := peer(t, "socat")
	dir := t.TempDir()
	ours, theirs := filepath.Join(dir, "ours"), filepath.Join(dir, "theirs")
	var f *Feed
	for life := 1; life <= 3; life++ {
		kill := begin(t, nil, socat, "pty,raw,echo=0,link="+ours, "pty,raw,echo=0,link="+theirs)
		meter := openWhenThere(t, theirs)
		openWhenThere(t, ours).Close()
		if f == nil {
			f = openFeed(t, Config{Name: "meter", Kind: "serial", Address: ours})
		}
		until(t, f, "connected", func(s Status) bool { return s.Links == life })
		fmt.Fprintf(meter, "%s\r\n", lineOf(life))
		if r := next(t, f); r.Seq != uint64(life) {
			t.Fatalf("life %d: %+v", life, r)
		}
		meter.Close()
		kill()
		until(t, f, "noticed the loss", func(s Status) bool { return s.State == Waiting })
	}
}

func openWhenThere(t *testing.T, path string) *os.File {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(5 * time.Millisecond) {
		if f, err := os.OpenFile(path, os.O_RDWR, 0); err == nil {
			return f
		} else if time.Now().After(deadline) {
			t.Fatal(err)
		}
	}
}

// Meters that call us may die and call again; two may be connected at once.
func TestTCPListenerTakesCallers(t *testing.T) {
	socat := peer(t, "socat")
	f := openFeed(t, Config{Name: "meter", Kind: "tcp-listen", Address: "127.0.0.1:0"})
	a := address(t, f).String()
	for life := 1; life <= 3; life++ {
		in, out := io.Pipe()
		kill := begin(t, in, socat, "-", "TCP:"+a)
		fmt.Fprintln(out, lineOf(life))
		if r := next(t, f); r.Seq != uint64(life) {
			t.Fatalf("life %d: %+v", life, r)
		}
		out.Close()
		kill()
		until(t, f, "alone", func(s Status) bool { return s.State == Waiting })
	}
	a1, o1 := io.Pipe()
	a2, o2 := io.Pipe()
	begin(t, a1, socat, "-", "TCP:"+a)
	begin(t, a2, socat, "-", "TCP:"+a)
	// Halves of lines from two meters must not mix.
	fmt.Fprint(o1, `{"probe":"one","x":0.31,`)
	fmt.Fprint(o2, `{"probe":"two","x":0.41,`)
	fmt.Fprintln(o1, `"y":0.33}`)
	fmt.Fprintln(o2, `"y":0.40}`)
	got := map[string]bool{next(t, f).Probe: true}
	got[next(t, f).Probe] = true
	if !got["one"] || !got["two"] {
		t.Errorf("probes %v, want one and two", got)
	}
	o1.Close()
	o2.Close()
}

// Datagrams of one or several lines count, from any sender that comes back.
func TestUDPTakesDatagrams(t *testing.T) {
	socat := peer(t, "socat")
	f := openFeed(t, Config{Name: "meter", Kind: "udp", Address: "127.0.0.1:0"})
	a := address(t, f).String()
	for life := 1; life <= 3; life++ {
		run(t, strings.NewReader(lineOf(2*life)+"\n"+lineOf(2*life+1)), socat, "-u", "-", "UDP:"+a)
		for i := range 2 {
			if r := next(t, f); r.Seq != uint64(2*life+i) {
				t.Fatalf("life %d: %+v", life, r)
			}
		}
	}
}

func run(t *testing.T, stdin io.Reader, name string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Stdin = stdin
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// A growing file is followed through being cut short, replaced, and missing.
func TestFileIsFollowed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log")
	add := func(s string) {
		file, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		io.WriteString(file, s)
	}
	add(lineOf(1) + "\n") // yesterday's: not a reading of now
	f := openFeed(t, Config{Name: "meter", Kind: "file", Address: path})
	until(t, f, "open", func(s Status) bool { return s.Links == 1 })
	add(lineOf(2) + "\n" + lineOf(3)[:10])
	if r := next(t, f); r.Seq != 2 {
		t.Fatalf("got %+v, want only what was added", r)
	}
	add(lineOf(3)[10:] + "\n")
	if r := next(t, f); r.Seq != 3 {
		t.Fatalf("a line that came in two pieces: %+v", r)
	}
	if err := os.Truncate(path, 0); err != nil {
		t.Fatal(err)
	}
	add(lineOf(4) + "\n")
	if r := next(t, f); r.Seq != 4 {
		t.Fatalf("after being cut short: %+v", r)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	until(t, f, "missing", func(s Status) bool { return s.State == Waiting })
	add(lineOf(5) + "\n")
	if r := next(t, f); r.Seq != 5 {
		t.Fatalf("after being replaced: %+v", r)
	}
}

// The standard input is read to its end, and then the feed says that it ended.
func TestStdinEnds(t *testing.T) {
	f := openFeed(t, Config{Name: "pipe", Kind: "stdin", Input: strings.NewReader(lineOf(1) + "\n" + lineOf(2))})
	for i := 1; i <= 2; i++ {
		if r := next(t, f); r.Seq != uint64(i) {
			t.Fatal(r)
		}
	}
	if _, err := f.Next(soon(t)); err == nil || !strings.Contains(err.Error(), "ended") {
		t.Errorf("after the end: %v", err)
	}
	if s := f.Status(); s.State != Ended {
		t.Errorf("state %v", s.State)
	}
}

// A program that dies is started again, with its last words as the reason; it
// is never started without the person's leave, and does not outlive the feed.
func TestChildProcess(t *testing.T) {
	sh := peer(t, "sh")
	if _, err := Open(t.Context(), Config{Name: "x", Kind: "exec", Command: []string{sh, "-c", "true"}}); err == nil || !strings.Contains(err.Error(), "not allowed") {
		t.Fatalf("a program was started without leave: %v", err)
	}
	dir := t.TempDir()
	script := `n=$(cat n 2>/dev/null || echo 0); n=$((n+1)); echo $n > n
echo "{\"seq\":$n,\"x\":0.31,\"y\":0.33}"
if [ $n -ge 3 ]; then echo $$ > pid; read -r x; exec sleep 1000; fi
echo "meter not found" >&2; exit 7`
	f := openFeed(t, Config{Name: "x", Kind: "exec", Command: []string{sh, "-c", script}, Dir: dir, AllowExec: true})
	for i := 1; i <= 3; i++ {
		if r := next(t, f); r.Seq != uint64(i) {
			t.Fatalf("%+v", r)
		}
		if i == 1 {
			until(t, f, "noticed", func(s Status) bool { return strings.Contains(s.Why, "meter not found") || s.Links > 1 })
		}
	}
	openWhenThere(t, filepath.Join(dir, "pid")).Close()
	f.Close()
	pid, _ := os.ReadFile(filepath.Join(dir, "pid"))
	if _, err := os.Stat("/proc/" + strings.TrimSpace(string(pid)) + "/exe"); err == nil {
		t.Errorf("process %s is still there after the feed was closed", pid)
	}
}

// A command line in a rig is cut into words, and nothing in it is interpreted.
func TestCommandWords(t *testing.T) {
	for in, want := range map[string]string{
		"meter -p 3": "meter|-p|3", `"my meter" 'a b'c ""`: "my meter|a bc|", "  x\ty ": "x|y", "": "", "a $HOME;rm": "a|$HOME;rm",
	} {
		got, err := words(in)
		if err != nil || strings.Join(got, "|") != want {
			t.Errorf("%q: %q, %v", in, got, err)
		}
	}
	if _, err := words(`a "b`); err == nil {
		t.Error("an open quote was taken")
	}
}
