// A desk for tests, made of the go-sacn transmitter: an independent peer, in a
// process of its own because its goroutines race and may panic.
//
// usage: desk SLOTS WAIT FRAMES PERIOD HOLD
//
// On universe 1 it shows frame 0 for WAIT, then fades: frame n has value n%251+1 in slot 1, n/251+1 in slot 2,
// the complement of slot 1 in slot 3, and 77 in all others. After FRAMES frames
// it holds the last look for HOLD, then leaves.
package main

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"time"

	"github.com/Hundemeier/go-sacn/sacn"
)

func main() {
	slots, _ := strconv.Atoi(os.Args[1])
	wait, _ := time.ParseDuration(os.Args[2])
	frames, _ := strconv.Atoi(os.Args[3])
	period, _ := time.ParseDuration(os.Args[4])
	hold, _ := time.ParseDuration(os.Args[5])
	tx, err := sacn.NewTransmitter("", [16]byte{0xde, 0x5c}, "desk of a peer")
	if err != nil {
		panic(err)
	}
	ch, err := tx.Activate(1)
	if err != nil {
		panic(err)
	}
	tx.SetMulticast(1, true)
	next := time.Now()
	for n := range frames {
		look := bytes.Repeat([]byte{77}, slots)
		look[0], look[1] = byte(n%251+1), byte(n/251+1)
		look[2] = ^look[0]
		ch <- look
		if n == 0 {
			fmt.Println("standing")
			time.Sleep(wait)
			next = time.Now()
		}
		next = next.Add(period)
		time.Sleep(time.Until(next))
	}
	fmt.Println("faded")
	time.Sleep(hold)
	close(ch)
	time.Sleep(200 * time.Millisecond)
}
