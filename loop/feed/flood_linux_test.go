package feed

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"trueup/loop/feed/instrument"
)

func datagramsFrom(t *testing.T, local string, to net.Addr) *net.UDPConn {
	t.Helper()
	c, err := net.DialUDP("udp", &net.UDPAddr{IP: net.ParseIP(local)}, to.(*net.UDPAddr))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

func listeningAt(t *testing.T, f *Feed) net.Addr {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		if a := f.Address(); a != nil {
			return a
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("the feed does not listen")
	return nil
}

// One who floods the listener uses up his own bound, not that of the meter.
func TestAFloodDoesNotStarveTheMeter(t *testing.T) {
	f, err := Open(t.Context(), Config{Name: "udp", Kind: "udp", Address: "0.0.0.0:0", MaxRate: 20})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	at := listeningAt(t, f).(*net.UDPAddr)
	to := &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1), Port: at.Port}
	flood, meter := datagramsFrom(t, "127.0.0.2", to), datagramsFrom(t, "127.0.0.1", to)
	for i := range 10 {
		for range 30 {
			fmt.Fprint(flood, "noise")
		}
		fmt.Fprintf(meter, `{"probe":"mark","seq":%d,"x":0.3127,"y":0.3290}`, i+1)
		if _, err := f.NextAfter(soon(t), "mark", time.Time{}); err != nil {
			t.Fatalf("reading %d: %v", i+1, err)
		}
	}
	if s := f.Status(); s.SetAside[TooFast] == 0 {
		t.Errorf("the flood was not bounded: %v", s.SetAside)
	}
}

// Lines of two senders do not mix, though they share one socket.
func TestTwoSendersDoNotShareABlock(t *testing.T) {
	ins, err := instrument.Parse("two.yaml", []byte(`instrument: two
lines: {block: {begin: "^B", lines: 2}}
read: {as: regexp, pattern: '(?s)^B (?P<p>\w+)\n(?P<x>\S+) (?P<y>\S+)$'}
fields: {probe: p, x: x, y: y}
`))
	if err != nil {
		t.Fatal(err)
	}
	f, err := Open(t.Context(), Config{Name: "udp", Kind: "udp", Address: "0.0.0.0:0", Instrument: ins})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	to := &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1), Port: listeningAt(t, f).(*net.UDPAddr).Port}
	a, b := datagramsFrom(t, "127.0.0.1", to), datagramsFrom(t, "127.0.0.2", to)
	fmt.Fprint(a, "B left")
	fmt.Fprint(b, "B right")
	fmt.Fprint(a, "0.31 0.33")
	fmt.Fprint(b, "0.41 0.39")
	for probe, x := range map[string]float64{"left": 0.31, "right": 0.41} {
		r, err := f.NextAfter(soon(t), probe, time.Time{})
		if err != nil || r.UV.XY().X-x > 1e-9 || x-r.UV.XY().X > 1e-9 {
			t.Errorf("%s: %v, %v; want x %v", probe, r.UV.XY(), err, x)
		}
	}
}

// A stream that brings lines without end is read no further.
func TestAFloodingStreamIsEnded(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer ln.Close()
	sent := make(chan int, 1)
	go func() {
		conn, err := ln.Accept()
		if err != nil {
			return
		}
		defer conn.Close()
		n := 0
		for line := []byte(strings.Repeat("noise\n", 1000)); ; {
			k, err := conn.Write(line)
			n += k
			if err != nil {
				sent <- n
				return
			}
		}
	}()
	f, err := Open(t.Context(), Config{Name: "tcp", Kind: "tcp", Address: ln.Addr().String(), MaxRate: 20})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	select {
	case n := <-sent:
		t.Logf("%d bytes were taken", n)
	case <-time.After(time.Minute):
		t.Fatal("the flood is read without end")
	}
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		if strings.Contains(f.Status().Why, "is this a meter?") {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Errorf("the feed says %q", f.Status().Why)
}

// Callers that say nothing do not keep a meter out.
func TestSilentCallersMakeRoom(t *testing.T) {
	f, err := Open(t.Context(), Config{Name: "call", Kind: "tcp-listen", Address: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	at := listeningAt(t, f).String()
	for range maxCallers {
		c, err := net.Dial("tcp", at)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
	}
	deadline := time.Now().Add(time.Minute)
	for time.Now().Before(deadline) { // a meter that is turned away calls again
		c, err := net.Dial("tcp", at)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintln(c, `{"x":0.3127,"y":0.3290}`)
		time.Sleep(100 * time.Millisecond)
		c.Close()
		if f.Status().Accepted > 0 {
			return
		}
	}
	t.Error("the meter was never heard")
}

// Bodies that are sent slowly do not keep a reading out.
func TestSlowBodiesDoNotOccupyTheEndpoint(t *testing.T) {
	f, err := Open(t.Context(), Config{Name: "post", Kind: "http", Address: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	at := listeningAt(t, f).String()
	for range 2 * maxBodies {
		c, err := net.Dial("tcp", at)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		fmt.Fprintf(c, "POST / HTTP/1.1\r\nHost: %s\r\nContent-Length: 1000\r\n\r\n{", at)
	}
	time.Sleep(100 * time.Millisecond) // let them be taken in
	resp, err := http.Post("http://"+at, "application/json", strings.NewReader(`{"x":0.3127,"y":0.3290}`))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	http.DefaultClient.CloseIdleConnections()
	if resp.StatusCode != http.StatusNoContent {
		b, _ := io.ReadAll(resp.Body)
		t.Errorf("%s: %s", resp.Status, b)
	}
}
