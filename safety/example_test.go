package safety_test

import (
	"context"
	"fmt"
	"time"

	"trueup/dmx"
	"trueup/safety"
)

// A governor fed by hand: a wish goes in, and frame by frame the wire gets there no
// faster than the limits allow. After the release it goes back to where it stood.
func ExampleGovernor() {
	lamp := safety.Head{Name: "lamp", Universe: 1, Cap: 1, Slots: []safety.SlotRule{
		{Name: "dimmer", Kind: safety.Dimmer, Slots: []dmx.Slot{1}, Max: 255, Curve: safety.LinearCurve()},
	}}
	g, err := safety.NewGovernor(safety.Config{Limits: safety.DefaultLimits(), Heads: []safety.Head{lamp}})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := g.Wish(0, []uint32{255}); err != nil {
		fmt.Println(err)
		return
	}
	var frame [512]byte
	start := time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
	frames := func(from, to time.Duration) {
		for at := from; at < to; at += 25 * time.Millisecond {
			g.Alive() // a step of the run's event loop is finished
			g.Levels(start.Add(at), 1, &frame)
		}
	}
	frames(0, time.Second)
	fmt.Println("after a second: ", frame[0])
	frames(time.Second, 3*time.Second)
	at, ok := g.Arrived(0)
	fmt.Println("after three:    ", frame[0], ok, at.Sub(start))
	g.Release("the run is over")
	frames(3*time.Second, 6*time.Second)
	stage, why := g.Stage()
	fmt.Printf("after the release: %d, %v (%s)\n", frame[0], stage, why)
	// Output:
	// after a second:  114
	// after three:     255 true 2.15s
	// after the release: 0, handed back (the run is over)
}

// A door in a rehearsal: frames are made at the pace of the wire, and nothing is sent.
// Without Silent, and with a sender's configuration, the same lines move light.
func ExampleOpen() {
	lamp := safety.Head{Name: "lamp", Universe: 1, Cap: 0.05, Slots: []safety.SlotRule{ // five percent: it is soon there
		{Name: "dimmer", Kind: safety.Dimmer, Slots: []dmx.Slot{1}, Max: 255, Curve: safety.LinearCurve()},
	}}
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	door, err := safety.Open(ctx, safety.DoorConfig{Silent: true,
		Governor: safety.Config{Limits: safety.DefaultLimits(), Heads: []safety.Head{lamp}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := door.Wish(0, []uint32{255}); err != nil {
		fmt.Println(err)
	}
	codes, capped := door.Effective(0)
	fmt.Println("will end on", codes, "capped:", capped)
	if _, err := door.WaitArrived(ctx, 0); err != nil {
		fmt.Println(err)
	}
	fmt.Println("sent:", door.Sent(0))
	fmt.Println("closed:", door.Close()) // ramps back first
	fmt.Println("left on:", door.Sent(0))
	// Output:
	// will end on [12] capped: true
	// sent: [12]
	// closed: <nil>
	// left on: [0]
}
