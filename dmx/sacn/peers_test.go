package sacn

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// nsEnv names the test that runs in a network namespace of its own.
const nsEnv = "SACN_TEST_NAMESPACE"

// roleEnv makes the test binary a helper program; see TestMain.
const roleEnv = "SACN_TEST_ROLE"

// roles are the helpers that the test binary can be.
var roles = map[string]func(){"watch": watch}

// TestMain lets the test binary serve as a helper in another namespace.
func TestMain(m *testing.M) {
	if f := roles[os.Getenv(roleEnv)]; f != nil {
		f()
		return
	}
	os.Exit(m.Run())
}

// ownNetworkSetup makes net0, with a far end where nobody listens.
var ownNetworkSetup = []string{"ip link set lo up", "ip link add net0 type veth peer name net1", "ip link set net0 up", "ip link set net1 up",
	"ip addr add 10.9.0.1/24 dev net0", "ip -6 addr add fd09::1/64 dev net0 nodad", "ip route add 239.0.0.0/8 dev net0"}

// need skips a test whose peer program is missing; where all of them are
// promised to be there it fails.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			missing(t, p+" is not installed")
		}
	}
}

func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("TRUEUP_CI") == "1" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// ownNetwork runs the test in a network namespace of its own, with one
// interface, net0, that multicast is routed to. It returns false in the outer process, where the
// test is then over.
func ownNetwork(t *testing.T) bool {
	t.Helper()
	if os.Getenv(nsEnv) == t.Name() {
		shell(t, ownNetworkSetup...)
		return true
	}
	need(t, "unshare", "ip")
	t.Parallel() // each has its own network, and mostly waits
	ns := []string{"-n"}
	if exec.Command("unshare", "-n", "true").Run() != nil {
		ns = []string{"-r", "-n"}
		if out, err := exec.Command("unshare", "-r", "-n", "true").CombinedOutput(); err != nil {
			missing(t, fmt.Sprintf("no network namespaces here: %v: %s", err, out))
		}
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 90*time.Second)
	defer cancel()
	c := exec.CommandContext(ctx, "unshare", append(ns, self, "-test.run", "^"+regexp.QuoteMeta(t.Name())+"$", "-test.v")...)
	c.Env = append(os.Environ(), nsEnv+"="+t.Name())
	out, err := c.CombinedOutput()
	switch {
	case err != nil:
		t.Errorf("in its own network: %v\n%s", err, out)
	case strings.Contains(string(out), "--- SKIP"):
		missing(t, string(out))
	case !strings.Contains(string(out), "--- PASS"):
		t.Errorf("it did not run:\n%s", out)
	default:
		t.Logf("%s", out)
	}
	return false
}

func shell(t *testing.T, lines ...string) {
	t.Helper()
	for _, l := range lines {
		if out, err := exec.Command("sh", "-c", l).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", l, err, out)
		}
	}
}

// peer builds one of the programs in testdata/peers. They are built without
// the race detector: the library's own races are not what is tested.
func peer(t *testing.T, name string) string {
	t.Helper()
	bin := filepath.Join(t.TempDir(), name)
	if out, err := exec.Command("go", "build", "-o", bin, "./testdata/peers/"+name).CombinedOutput(); err != nil {
		t.Fatalf("build %s: %v\n%s", name, err, out)
	}
	return bin
}

// begin starts a program and waits for a line of its output that contains ready.
func begin(t *testing.T, ready string, name string, args ...string) (lines <-chan string, c *exec.Cmd) {
	t.Helper()
	c = exec.Command(name, args...)
	return beginCmd(t, ready, c), c
}

func beginCmd(t *testing.T, ready string, c *exec.Cmd) <-chan string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	c.Stdout, c.Stderr = w, w
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	w.Close()
	t.Cleanup(func() { c.Process.Kill(); c.Wait(); r.Close() })
	ch := make(chan string, 100000)
	go func() {
		defer close(ch)
		s := bufio.NewScanner(r)
		s.Buffer(nil, 1<<20)
		for s.Scan() {
			ch <- s.Text()
		}
	}()
	var seen []string
	for ready != "" {
		select {
		case l, ok := <-ch:
			seen = append(seen, l)
			if !ok {
				t.Fatalf("%s ended before it was ready: %q", c.Path, seen)
			}
			if strings.Contains(l, ready) {
				return ch
			}
		case <-time.After(time.Minute):
			t.Fatalf("%s is not ready after 20 s: %q", c.Path, seen)
		}
	}
	return ch
}

// tapped wraps a way out and keeps what went through it.
type tapped struct {
	out
	rec *recorder
}

func (o tapped) WriteBatch(ms []message, until time.Time) (int, error) {
	n, err := o.out.WriteBatch(ms, until)
	if n > 0 {
		o.rec.WriteBatch(ms[:n], until)
	}
	return n, err
}

// tap records everything that leaves a sender by its i-th way out.
func tap(s *Sender, i int) *recorder {
	rec := &recorder{}
	l := s.links[i]
	dial := l.dial
	l.dial = func() (out, error) {
		o, err := dial()
		if err != nil {
			return nil, err
		}
		return tapped{o, rec}, nil
	}
	return rec
}

// watch is the helper that prints every datagram that reaches port 5568 by
// multicast on the interface given: time in ns, source address, hex.
func watch() {
	ifi, err := net.InterfaceByName(os.Args[1])
	for end := time.Now().Add(time.Minute); err != nil && time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		ifi, err = net.InterfaceByName(os.Args[1])
	}
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for _, l := range os.Args[2:] {
		if out, err := exec.Command("sh", "-c", l).CombinedOutput(); err != nil {
			fmt.Printf("%s: %v: %s\n", l, err, out)
			os.Exit(1)
		}
	}
	e, err := listen(loopbackAll, true)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for u := range uint16(4) {
		if err := e.join(membership{group4(u + 1), ifi.Name}); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
	}
	fmt.Println("watching")
	var buf [2048]byte
	for {
		n, from, err := e.conn.ReadFromUDPAddrPort(buf[:])
		if err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Printf("%d %v %x\n", time.Now().UnixNano(), from.Addr(), buf[:n])
	}
}
