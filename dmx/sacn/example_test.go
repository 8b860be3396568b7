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
