// The go-sacn transmitter as a yardstick: it sends universes 1..N by unicast to
// an address, or by multicast if none is given, at 44 frames a second, each frame another look, and prints what that cost:
// nanoseconds of CPU time, those of them outside the system, packets, allocations.
//
// usage: flood UNIVERSES SECONDS [ADDRESS]
package main

import (
	"fmt"
	"os"
	"runtime"
	"strconv"
	"syscall"
	"time"

	"github.com/Hundemeier/go-sacn/sacn"
)

func main() {
	n, _ := strconv.Atoi(os.Args[1])
	seconds, _ := strconv.Atoi(os.Args[2])
	tx, err := sacn.NewTransmitter("", [16]byte{1}, "yardstick")
	if err != nil {
		panic(err)
	}
	var chans []chan<- []byte
	for u := range n {
		ch, err := tx.Activate(uint16(u + 1))
		if err != nil {
			panic(err)
		}
		if len(os.Args) > 3 {
			tx.SetDestinations(uint16(u+1), os.Args[3:])
		} else {
			tx.SetMulticast(uint16(u+1), true)
		}
		chans = append(chans, ch)
	}
	time.Sleep(500 * time.Millisecond)
	look := make([]byte, 512)
	cpu0, user0, mallocs0 := cost()
	packets := 0
	next := time.Now()
	for end := next.Add(time.Duration(seconds) * time.Second); time.Now().Before(end); {
		look[0]++
		for _, ch := range chans {
			ch <- look
			packets++
		}
		next = next.Add(time.Second / 44)
		time.Sleep(time.Until(next))
	}
	cpu1, user1, mallocs1 := cost()
	fmt.Println("cost", cpu1-cpu0, user1-user0, packets, mallocs1-mallocs0)
}

func cost() (cpu, user int64, mallocs uint64) {
	var r syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return r.Utime.Nano() + r.Stime.Nano(), r.Utime.Nano(), m.Mallocs
}
