package sacn

import (
	"context"
	"testing"
	"time"

	"trueup/dmx"
)

// More universes than one socket may join groups for, by IPv4 and IPv6 at once,
// heard by two receivers of one machine. What comes by both ways counts once.
func TestManyUniversesByBothWaysAreHeardOnceByEveryProgram(t *testing.T) {
	if !ownNetwork(t) {
		return
	}
	const n = 50
	var us []dmx.Universe
	var look show
	for u := dmx.Universe(1); u <= n; u++ {
		us = append(us, u)
		look.set(u, byte(u), 7)
	}
	cfg := ReceiverConfig{Universes: us, Multicast: true, IP: IPv4AndIPv6, Interfaces: []string{"net0"}}
	var rs []*Receiver
	for range 2 {
		r, err := NewReceiver(cfg)
		if err != nil {
			t.Fatal(err)
		}
		start(t, r.Run)
		rs = append(rs, r)
	}
	// A third one is told nothing and finds the universes by their announcement.
	finder, err := NewReceiver(ReceiverConfig{Multicast: true, Discover: true, Interfaces: []string{"net0"}})
	if err != nil {
		t.Fatal(err)
	}
	start(t, finder.Run)
	s, err := NewSender(SenderConfig{CID: testCID(t), SourceName: "left", Universes: us, Multicast: true, IP: IPv4AndIPv6, Interfaces: []string{"net0"}})
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	start(t, func(ctx context.Context) error { return s.Run(ctx, &look) })
	all := func(r *Receiver) func() bool {
		return func() bool {
			var got [512]byte
			for _, u := range us {
				if k, live := r.Levels(u, &got); !live || k != 2 || got[0] != byte(u) {
					return false
				}
			}
			return true
		}
	}
	for i, r := range rs {
		await(t, "all universes", all(r))
		if len(r.sockets) < 4 {
			t.Errorf("receiver %d: %d sockets for %d groups", i, len(r.sockets), n)
		}
	}
	time.Sleep(300 * time.Millisecond)
	for i, r := range rs {
		doubles := uint64(0)
		for _, src := range r.Sources() {
			if most := 8 + 2*uint64(time.Since(begun)/time.Second); uint64(src.Packets) > most { // what stands is said once a second
				t.Errorf("receiver %d, universe %d: %d packets of a look that was said four times", i, src.Universe, src.Packets)
			}
			doubles += src.OutOfOrder
		}
		if doubles < n {
			t.Errorf("receiver %d: %d doubles; the second way brought nothing", i, doubles)
		}
	}
	await(t, "the announced universes", all(finder))
	if l := finder.Listings(); len(l) != 1 || l[0].Name != "left" || len(l[0].Universes) != n {
		t.Errorf("%+v", l)
	}
	t.Logf("found by announcement after %v", time.Since(begun))
}
