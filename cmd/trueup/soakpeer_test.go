package main

import (
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"time"
)

// vitalsEnv names a file in which the program under a soak test tells, once a
// second, what cannot be seen from outside: how many goroutines it has.
const vitalsEnv = "VITALS_OF_TEST"

// tellVitals writes the file for as long as the process lives.
func tellVitals() {
	path := os.Getenv(vitalsEnv)
	if path == "" {
		return
	}
	go func() {
		fresh := filepath.Join(filepath.Dir(path), ".vitals")
		for range time.Tick(time.Second) {
			if os.WriteFile(fresh, []byte(strconv.Itoa(runtime.NumGoroutine())), 0o644) == nil {
				os.Rename(fresh, path)
			}
		}
	}()
}

// floodPeer is a process that sends datagrams at a rate for a time, both bounded:
// floodpeer ADDRESS RATE TIME. A third is noise, a third is packets cut short or
// of a wrong length, a third is good packets of sources that nobody knows, below the
// desk's priority.
func floodPeer() {
	fail := func(err error) { fmt.Fprintln(os.Stderr, err); os.Exit(1) }
	if len(os.Args) != 4 {
		fail(fmt.Errorf("usage: floodpeer ADDRESS RATE TIME"))
	}
	rate, err := strconv.Atoi(os.Args[2])
	if err != nil || rate < 1 || rate > 100_000 {
		fail(fmt.Errorf("rate %q", os.Args[2]))
	}
	d, err := time.ParseDuration(os.Args[3])
	if err != nil || d > 10*time.Minute {
		fail(fmt.Errorf("time %q", os.Args[3]))
	}
	conn, err := net.Dial("udp4", os.Args[1])
	if err != nil {
		fail(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	var kinds [][]byte
	for i := range 300 {
		k := &desk{cid: fmt.Sprintf("foreign %08d", r.IntN(1e8)), priority: byte(1 + r.IntN(90)), seq: byte(i)}
		b := k.packet()
		b[114] = byte(1 + r.IntN(8))
		switch i % 3 {
		case 0:
			for j := range b {
				b[j] = byte(r.IntN(256))
			}
		case 1:
			b = b[:1+r.IntN(len(b)-1)]
		}
		kinds = append(kinds, b)
	}
	began, sent := time.Now(), 0
	for time.Since(began) < d {
		for due := int(time.Since(began).Seconds() * float64(rate)); sent < due; sent++ {
			conn.Write(kinds[sent%len(kinds)]) // a full buffer drops it: so does a network
		}
		time.Sleep(time.Millisecond)
	}
	fmt.Printf("flood: %d datagrams in %.0f s\n", sent, time.Since(began).Seconds())
}
