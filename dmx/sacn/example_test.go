package sacn_test

import (
	"context"
	"fmt"
	"net/netip"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// A fixture on this machine: it takes what is sent to it, and holds the last
// look when nobody speaks any more.
func ExampleReceiver() {
	r, err := sacn.NewReceiver(sacn.ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0"), Universes: []dmx.Universe{1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Millisecond)
	defer cancel()
	if err := r.Run(ctx); err != nil {
		fmt.Println(err)
		return
	}
	var look [512]byte
	slots, live := r.Levels(1, &look)
	fmt.Println(slots, live)
	// Output: 0 false
}

// still is one look that never changes.
type still []byte

func (s still) Levels(_ time.Time, _ dmx.Universe, dst *[512]byte) int { return copy(dst[:], s) }

// A desk and a fixture on this machine: what is sent is what is received, under
// the sender's name and priority, and at the end the desk says goodbye.
func ExampleSender() {
	r, err := sacn.NewReceiver(sacn.ReceiverConfig{Listen: netip.MustParseAddrPort("127.0.0.1:0"), Universes: []dmx.Universe{1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := sacn.NewSender(sacn.SenderConfig{CID: sacn.CID{1}, SourceName: "left", Priority: 120, Universes: []dmx.Universe{1},
		Unicast: []netip.AddrPort{r.LocalAddr()}})
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	heard := make(chan error)
	go func() { heard <- r.Run(ctx) }()
	send, stop := context.WithTimeout(ctx, 300*time.Millisecond)
	defer stop()
	if err := s.Run(send, still{255, 128, 0}); err != nil {
		fmt.Println(err)
	}
	for r.Sources() == nil || r.Sources()[0].Gone == 0 {
		time.Sleep(time.Millisecond) // the goodbye is on its way
	}
	var look [512]byte
	slots, live := r.Levels(1, &look)
	fmt.Println(look[:slots], live)
	for _, src := range r.Sources() {
		fmt.Println(src.Name, src.Priority, src.Gone)
	}
	cancel()
	<-heard
	// Output:
	// [255 128 0] false
	// left 120 terminated
}
