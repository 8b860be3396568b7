package sacn

import (
	"context"
	"encoding/json"
	"fmt"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"trueup/dmx"
)

const benchSeconds = 4

// sinkAddress is of loopback, but hardly used by other programs there. The
// library sends to port 5568 only.
const sinkAddress = "127.0.0.77:5568"

// pacing is what the sink saw: time between two packets of a universe, ms.
type pacing struct {
	Packets       int
	P50, P99, Max float64 // of the interval
	Error99       float64 // 99 of 100 intervals are so near to 1/44 s
}

// sink is the helper that takes everything sent to sinkAddress and judges
// the pace by the kernel's time stamps. It ends when its input does.
func init() { roles["sink"], roles["toil"] = sink, toil }

func sink() {
	fail := func(err error) { fmt.Println(err); os.Exit(1) }
	e, err := listen(netip.MustParseAddrPort(sinkAddress), true)
	if err != nil {
		fail(err)
	}
	c := e.conn
	c.SetReadBuffer(8 << 20)
	raw, err := c.SyscallConn()
	if err != nil {
		fail(err)
	}
	raw.Control(func(fd uintptr) { err = unix.SetsockoptInt(int(fd), unix.SOL_SOCKET, unix.SO_TIMESTAMPNS, 1) })
	if err != nil {
		fail(err)
	}
	fmt.Println("sinking")
	go func() {
		var b [1]byte
		os.Stdin.Read(b[:])
		c.SetReadDeadline(time.Now())
	}()
	last := map[uint16]int64{}
	var gaps []float64
	packets := 0
	buf, oob := make([]byte, 2048), make([]byte, 256)
	for {
		n, on, _, _, err := c.ReadMsgUDP(buf, oob)
		if err != nil {
			break
		}
		if n < 126 || buf[offOptions]&optTerminated != 0 {
			continue
		}
		at := stamp(oob[:on])
		u := be.Uint16(buf[offUniverse:])
		if before, ok := last[u]; ok {
			gaps = append(gaps, float64(at-before)/1e6)
		}
		last[u] = at
		packets++
	}
	p := pacing{Packets: packets}
	if len(gaps) > 0 {
		slices.Sort(gaps)
		p.P50, p.P99, p.Max = gaps[len(gaps)/2], gaps[len(gaps)*99/100], gaps[len(gaps)-1]
		off := make([]float64, len(gaps))
		for i, g := range gaps {
			off[i] = max(g-1000./44, 1000./44-g)
		}
		slices.Sort(off)
		p.Error99 = off[len(off)*99/100]
	}
	text, _ := json.Marshal(p)
	fmt.Println(string(text))
}

func stamp(oob []byte) int64 {
	msgs, err := syscall.ParseSocketControlMessage(oob)
	if err != nil || len(msgs) == 0 || len(msgs[0].Data) < 16 {
		return time.Now().UnixNano()
	}
	d := msgs[0].Data
	return int64(nativeUint64(d))*1e9 + int64(nativeUint64(d[8:]))
}

func nativeUint64(b []byte) (v uint64) {
	for i := range 8 {
		v |= uint64(b[i]) << (8 * i)
	}
	return v
}

// withSink runs f while a sink listens, and returns what it saw.
func withSink(b *testing.B, f func()) pacing {
	b.Helper()
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), roleEnv+"=sink")
	in, err := c.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := c.Start(); err != nil {
		b.Fatal(err)
	}
	var line [100]byte
	n, _ := out.Read(line[:])
	if !strings.Contains(string(line[:n]), "sinking") {
		b.Fatalf("the sink: %s", line[:n])
	}
	f()
	in.Close()
	var p pacing
	if err := json.NewDecoder(out).Decode(&p); err != nil {
		b.Fatal(err)
	}
	c.Wait()
	return p
}

func cost() (cpu, user int64, mallocs uint64) {
	var r syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return r.Utime.Nano() + r.Stime.Nano(), r.Utime.Nano(), m.Mallocs
}

// all changes one slot of every universe at every frame.
type all struct{ n byte }

func (a *all) Levels(_ time.Time, _ dmx.Universe, dst *[512]byte) int {
	a.n++
	dst[0] = a.n
	dst[1]++
	return 512
}

// outlay is what sending cost a program: CPU time in ns, packets, allocations.
type outlay struct {
	CPU     int64
	User    int64 // outside the system
	Packets int
	Mallocs uint64
}

func (o outlay) report(b *testing.B) {
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(o.CPU)/float64(max(o.Packets, 1)), "cpu-ns/packet")
	b.ReportMetric(float64(o.User)/float64(max(o.Packets, 1)), "user-ns/packet")
	b.ReportMetric(float64(o.Mallocs)/float64(max(o.Packets, 1)), "allocs/packet")
}

// toil is the helper that sends as the benchmark asks and says what it cost.
func toil() {
	n, _ := strconv.Atoi(os.Args[1])
	cfg := SenderConfig{CID: CID{15: 1}}
	for u := range n {
		cfg.Universes = append(cfg.Universes, dmx.Universe(u+1))
	}
	if len(os.Args) > 3 {
		cfg.Unicast = []netip.AddrPort{netip.MustParseAddrPort(os.Args[3] + ":5568")}
	} else {
		cfg.Multicast, cfg.Interfaces = true, []string{"net0"}
	}
	s, err := NewSender(cfg)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- s.Run(ctx, &all{}) }()
	time.Sleep(500 * time.Millisecond)
	n0 := s.Links()[0].Packets
	cpu0, user0, m0 := cost()
	time.Sleep(benchSeconds * time.Second)
	cpu1, user1, m1 := cost()
	fmt.Println("cost", cpu1-cpu0, user1-user0, s.Links()[0].Packets-n0, m1-m0)
	cancel()
	<-done
}

// senders are the programs beside each other: the test binary as a helper, the
// library's transmitter, and the floor, a C program that makes one sendmmsg of each
// frame and does nothing else. Without a C compiler there is no floor.
func senders(b *testing.B) map[string][]string {
	b.Helper()
	flood := filepath.Join(b.TempDir(), "flood")
	if out, err := exec.Command("go", "build", "-o", flood, "./testdata/peers/flood").CombinedOutput(); err != nil {
		b.Fatal(err, string(out))
	}
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	all := map[string][]string{"ours": {"env", roleEnv + "=toil", self}, "library": {flood}}
	floor := filepath.Join(b.TempDir(), "floor")
	if _, err := exec.LookPath("cc"); err != nil {
		b.Log("no C compiler, so no floor: ", err)
	} else if out, err := exec.Command("cc", "-O2", "-o", floor, "testdata/peers/floor/floor.c").CombinedOutput(); err != nil {
		b.Fatal(err, string(out))
	} else {
		all["floor"] = []string{floor}
	}
	return all
}

// spend runs one of them. The library's has been seen to die of its own races
// while it starts; then it is run again.
func spend(b *testing.B, command []string, args ...string) (o outlay) {
	b.Helper()
	for range 5 {
		out, err := exec.Command(command[0], append(command[1:], args...)...).Output()
		if err == nil {
			if _, err := fmt.Sscanf(string(out), "cost %d %d %d %d", &o.CPU, &o.User, &o.Packets, &o.Mallocs); err == nil {
				return o
			}
		}
		b.Logf("%v died: %v %.80s", command, err, out)
	}
	b.Skip("no figures: it died five times")
	return o
}

var benchUniverses = []int{1, 16, 64, 256}

var benchPrograms = []string{"floor", "ours", "library"}

// What a packet costs to send by multicast on an interface where nobody
// listens: CPU time of the whole process, the system's share included.
func BenchmarkSendCost(b *testing.B) {
	if os.Geteuid() != 0 {
		b.Skip("a network of its own needs the rights for it")
	}
	lay := strings.Join(ownNetworkSetup, " && ")
	programs := senders(b)
	for _, n := range benchUniverses {
		for _, who := range benchPrograms {
			if programs[who] == nil {
				continue
			}
			b.Run(fmt.Sprintf("%s/%d", who, n), func(b *testing.B) {
				command := append([]string{"unshare", "-n", "sh", "-c", lay + ` && exec "$@"`, "sh"}, programs[who]...)
				spend(b, command, fmt.Sprint(n), fmt.Sprint(benchSeconds)).report(b)
			})
		}
	}
}

// How even the pace is as a third program sees it, by the kernel's time stamps.
// The library has no pace of its own: its figures are its caller's.
func BenchmarkSendPace(b *testing.B) {
	programs := senders(b)
	host, _, _ := strings.Cut(sinkAddress, ":")
	for _, n := range benchUniverses {
		for _, who := range benchPrograms {
			if programs[who] == nil {
				continue
			}
			b.Run(fmt.Sprintf("%s/%d", who, n), func(b *testing.B) {
				var o outlay
				p := withSink(b, func() { o = spend(b, programs[who], fmt.Sprint(n), fmt.Sprint(benchSeconds), host) })
				o.report(b)
				b.ReportMetric(p.P50, "p50-ms")
				b.ReportMetric(p.P99, "p99-ms")
				b.ReportMetric(p.Max, "max-ms")
				b.ReportMetric(p.Error99, "p99-error-ms")
			})
		}
	}
}
