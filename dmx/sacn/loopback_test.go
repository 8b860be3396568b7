package sacn

import (
	"context"
	"crypto/rand"
	"net/netip"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"trueup/dmx"
)

func testCID(t testing.TB) CID {
	t.Helper()
	var c CID
	if _, err := rand.Read(c[:]); err != nil {
		t.Fatal(err)
	}
	return c.marked()
}

// show is a Frames that tests write to.
type show struct {
	mu     sync.Mutex
	levels map[dmx.Universe][]byte
}

func (s *show) set(u dmx.Universe, levels ...byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.levels == nil {
		s.levels = map[dmx.Universe][]byte{}
	}
	s.levels[u] = append([]byte(nil), levels...)
}

func (s *show) Levels(_ time.Time, u dmx.Universe, dst *[512]byte) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return copy(dst[:], s.levels[u])
}

// start runs f until the test ends.
func start(t testing.TB, f func(context.Context) error) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- f(ctx) }()
	var once sync.Once
	stop = func() {
		once.Do(func() {
			cancel()
			select {
			case err := <-done:
				if err != nil {
					t.Error(err)
				}
			case <-time.After(time.Minute):
				t.Error("does not end")
			}
		})
	}
	t.Cleanup(stop)
	return stop
}

// await waits for a condition that must come true within a bound.
func await(t testing.TB, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(time.Minute); !ok(); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited a minute in vain: %s", what)
		}
	}
}

func loopback() netip.AddrPort { return netip.MustParseAddrPort("127.0.0.1:0") }

func TestLevelsSentAreTheLevelsReceived(t *testing.T) {
	defer goleak.VerifyNone(t)
	r, err := NewReceiver(ReceiverConfig{Listen: loopback()})
	if err != nil {
		t.Fatal(err)
	}
	stopReceiver := start(t, r.Run)
	s, err := NewSender(SenderConfig{CID: testCID(t), SourceName: "left", Priority: 120,
		Universes: []dmx.Universe{1, 63999}, Unicast: []netip.AddrPort{r.LocalAddr()}})
	if err != nil {
		t.Fatal(err)
	}
	var look show
	look.set(1, 255, 0, 7)
	look.set(63999, make([]byte, 512)...)
	stopSender := start(t, func(ctx context.Context) error { return s.Run(ctx, &look) })

	var got [512]byte
	await(t, "both universes live", func() bool {
		n1, live1 := r.Levels(1, &got)
		n2, live2 := r.Levels(63999, &got)
		return live1 && live2 && n1 == 3 && n2 == 512
	})
	look.set(1, 9, 8, 7)
	s.Wake(1)
	await(t, "the change", func() bool { r.Levels(1, &got); return got[0] == 9 && got[1] == 8 && got[2] == 7 })
	stopSender()
	await(t, "the goodbye", func() bool { _, live := r.Levels(1, &got); return !live })
	if n, _ := r.Levels(1, &got); n != 3 || got[0] != 9 {
		t.Errorf("after the goodbye the look is %v, %d slots: want the last one held", got[:3], n)
	}
	for _, src := range r.Sources() {
		if src.Gone != Terminated || src.Name != "left" || src.Priority != 120 {
			t.Errorf("source is %+v", src)
		}
	}
	if bad := r.Refused(); bad[BadLength]+bad[OutOfOrder] > 0 {
		t.Errorf("refused %v", bad)
	}
	stopReceiver()
}
