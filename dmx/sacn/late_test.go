package sacn

import (
	"bytes"
	"context"
	"net"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
)

// slowFrames takes its time over each frame, as a process does that the machine
// lets wait.
type slowFrames struct {
	took time.Duration
	n    atomic.Int32
}

func (f *slowFrames) Levels(_ time.Time, _ dmx.Universe, dst *[512]byte) int {
	time.Sleep(f.took)
	dst[0] = byte(f.n.Add(1))
	return 512
}

// A frame that is late is sent all the same, by real sockets: a machine that is
// busy for a moment is no fault of the network.
func TestALateFrameIsSentAllTheSame(t *testing.T) {
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	var log bytes.Buffer
	s, err := NewSender(SenderConfig{CID: testCID(t), SourceName: "left", Universes: []dmx.Universe{1},
		Unicast: []netip.AddrPort{c.LocalAddr().(*net.UDPAddr).AddrPort()}, Log: zerolog.New(&log)})
	if err != nil {
		t.Fatal(err)
	}
	frames := &slowFrames{took: 12 * time.Millisecond}
	stop := start(t, func(ctx context.Context) error { return s.Run(ctx, frames) })
	await(t, "80 frames", func() bool { return frames.n.Load() >= 80 })
	stop()
	c.SetReadDeadline(time.Now().Add(200 * time.Millisecond))
	got := map[byte]bool{}
	var buf [2048]byte
	for {
		n, err := c.Read(buf[:])
		if err != nil {
			break
		}
		if n == dataLengthMax && buf[offOptions]&optTerminated == 0 {
			got[buf[offSlots]] = true
		}
	}
	if n := frames.n.Load(); len(got) < int(n)-1 {
		t.Errorf("%d of %d frames arrived", len(got), n)
	}
	if log.Len() > 0 {
		t.Errorf("with nothing wrong the log says %s", log.String())
	}
}

// hiccups is a fade whose process the machine stops for a while now and then.
type hiccups struct{ fade }

func (h *hiccups) Levels(now time.Time, u dmx.Universe, dst *[512]byte) int {
	n := h.fade.Levels(now, u, dst)
	if h.n%10 == 0 {
		time.Sleep(18 * time.Millisecond)
	}
	return n
}

// After a frame that left late the next one keeps its distance: a ramp makes no
// step on the wire that is faster than its frames.
func TestNoFrameFollowsALateOneAtOnce(t *testing.T) {
	all := play(t, universes(1), &hiccups{}, func(*Sender, *recorder) { time.Sleep(3 * time.Second) })
	mustBeLegal(t, all)
	p := of(all, 1)
	if len(p) < 110 {
		t.Errorf("%d packets in three seconds", len(p))
	}
	for i := 1; i < len(p); i++ {
		if d := p[i].at.Sub(p[i-1].at); d < framePeriod-lateTolerance {
			t.Fatalf("packet %d left %v after the one before", i, d)
		}
	}
}

// A way out that fails for a moment is none that a person has to hear of; one
// that fails for longer is said once, while receivers still hold their look
// (2.5 s, E1.31 6.7.1), and once when it is back.
func TestOnlyAFaultThatLastsIsSaid(t *testing.T) {
	for _, c := range []struct {
		fault time.Duration
		want  string
	}{{time.Second, ""}, {2400 * time.Millisecond, "warn info"}, {20 * time.Second, "warn info"}} {
		synctest.Test(t, func(t *testing.T) {
			var log levels
			s := newSender(SenderConfig{CID: CID{1}, Universes: []dmx.Universe{1}, Multicast: true, Log: zerolog.New(nil).Hook(&log)})
			r := &recorder{}
			s.addLink("wire", r.dial, toGroup(group4))
			ctx, cancel := context.WithCancel(t.Context())
			done := make(chan error)
			go func() { done <- s.Run(ctx, &fade{}) }()
			time.Sleep(time.Second)
			r.set(errCut, false)
			time.Sleep(100 * time.Millisecond)
			if !s.Down() {
				t.Error("nothing may move while nothing goes out, and the sender says it does")
			}
			time.Sleep(c.fault - 100*time.Millisecond)
			r.set(nil, false)
			time.Sleep(5 * time.Second)
			cancel()
			<-done
			if got := strings.Join(log, " "); got != c.want {
				t.Errorf("a fault of %v: the log says %q, want %q", c.fault, got, c.want)
			}
		})
	}
}

// levels keeps the level of each line of a log.
type levels []string

func (l *levels) Run(_ *zerolog.Event, level zerolog.Level, _ string) {
	*l = append(*l, level.String())
}

// An announcement that did not get out is said again as soon as the way is
// free: who listens for it would miss ten seconds.
func TestAnAnnouncementThatWasLostInTheMachineIsSaidAgain(t *testing.T) {
	var look show
	look.set(1, 1)
	var back time.Time
	all := play(t, universes(1), &look, func(_ *Sender, r *recorder) {
		r.set(errCut, false)
		time.Sleep(100 * time.Millisecond)
		r.set(nil, false)
		back = time.Now()
		time.Sleep(5 * time.Second)
	})
	mustBeLegal(t, all)
	n := 0
	for _, p := range all {
		if k, _ := gate(p.b); k == kindDiscovery && len(p.b) > offList {
			n++
			if d := p.at.Sub(back); d > 2*time.Second {
				t.Errorf("announced %v after the way was free", d)
			}
		}
	}
	if n != 1 {
		t.Errorf("announced %d times within five seconds, want once", n)
	}
}

// A link-local receiver is named with its interface; a packet gets there by any
// spelling of it, and by a batch whose time is over before it begins.
func TestAReceiverIsReachedByItsInterfaceName(t *testing.T) {
	lo, err := net.InterfaceByName("lo")
	if err != nil {
		t.Skip("no interface lo here: ", err)
	}
	c, err := net.ListenUDP("udp6", &net.UDPAddr{IP: net.IPv6loopback})
	if err != nil {
		t.Skip("no IPv6 here: ", err)
	}
	defer c.Close()
	for _, zone := range []string{"", lo.Name, "1"} {
		to := c.LocalAddr().(*net.UDPAddr).AddrPort()
		o, err := dialUnicast(to)
		if err != nil {
			t.Fatal(err)
		}
		addr := net.UDPAddrFromAddrPort(to)
		addr.Zone = zone
		n, err := o.WriteBatch([]message{{Buffers: [][]byte{[]byte("here" + zone)}, Addr: addr}}, time.Now().Add(-time.Hour))
		if n != 1 || err != nil {
			t.Fatalf("zone %q: %d sent: %v", zone, n, err)
		}
		o.Close()
		var buf [100]byte
		c.SetReadDeadline(time.Now().Add(time.Minute))
		if n, err := c.Read(buf[:]); err != nil || string(buf[:n]) != "here"+zone {
			t.Errorf("zone %q: read %q, %v", zone, buf[:n], err)
		}
	}
}
