package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/time/rate"
)

// floodedFor is how long the packets are watched without, and then with, hostile clients.
const floodedFor = 20 * time.Second

// Hostile clients of the page do not keep the lamps' packets back: 200 requests a second, of which most are refused, beside 90
// connections that say nothing. Prints the longest time between two packets of a universe with and without them, and fails only
// where a universe was silent for longer than the keep-alive of E1.31 allows, beyond what the machine itself stood still.
func TestHostileClientsOfThePageKeepNoPacketBack(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("a minute of real time; set TRUEUP_LONG=1")
	}
	var wire *gapWire
	p := serveSmallBy(t, func(stage string) string {
		wire = newGapWire(t, netip.MustParseAddrPort(stage))
		return wire.conn.LocalAddr().String()
	})
	client := &http.Client{Timeout: time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 8}}
	defer client.CloseIdleConnections()
	cookie := beginMatch(t, client, p.url())
	machine := watchMachine(t)
	for wire.alive(keepAlive) == 0 {
		time.Sleep(50 * time.Millisecond)
	}
	wait := func() (gap, stall time.Duration) {
		wire.worst()
		machine.worst()
		time.Sleep(floodedFor)
		return wire.worst(), machine.worst()
	}
	calm, still := wait()
	ctx, cancel := context.WithCancel(t.Context())
	var sent atomic.Int64
	over := make(chan struct{})
	go func() { defer close(over); hostile(ctx, client, p, cookie, &sent) }()
	gap, stall := wait()
	cancel()
	<-over
	t.Logf("longest time between two packets of a universe: %v alone (machine stood still for %v), %v beside %d hostile requests (machine: %v)", calm, still, gap, sent.Load(), stall)
	if gap == 0 || gap > keepAlive+stall {
		t.Errorf("beside hostile clients a universe was silent for %v, want at most %v; the machine itself stood still for %v", gap, keepAlive, stall)
	}
	if sent.Load() == 0 {
		t.Error("no hostile request was made")
	}
}

// beginMatch starts a match as the page does, holds it so that it lasts, and returns its cookie.
func beginMatch(t *testing.T, c *http.Client, page string) *http.Cookie {
	t.Helper()
	r, err := c.Get(page)
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if len(r.Cookies()) != 1 {
		t.Fatalf("cookies %v", r.Cookies())
	}
	cookie := r.Cookies()[0]
	post := func(path, body string) (code int, said string) {
		q, _ := http.NewRequest("POST", page+path, strings.NewReader(body))
		q.Header.Set("Content-Type", "application/json")
		q.AddCookie(cookie)
		a, err := c.Do(q)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		return a.StatusCode, string(text)
	}
	_, said := post("api/plan", `{"work":"match"}`)
	_, id, _ := strings.Cut(said, `"id":"`)
	id, _, _ = strings.Cut(id, `"`)
	if code, why := post("api/start", fmt.Sprintf(`{"plan":%q,"clear":true}`, id)); code/100 != 2 {
		t.Fatalf("starting the plan %s: %d %s", said, code, why)
	}
	for end := time.Now().Add(pagePatience); ; time.Sleep(50 * time.Millisecond) {
		code, why := post("api/hold", "")
		if code/100 == 2 {
			return cookie
		}
		if time.Now().After(end) {
			t.Fatalf("hold: %d %s", code, why)
		}
	}
}

// hostile asks 200 times a second for what costs most and for what is refused, beside connections that say nothing.
func hostile(ctx context.Context, c *http.Client, p *servedRig, cookie *http.Cookie, sent *atomic.Int64) {
	for range 90 {
		if quiet, err := net.Dial("tcp", p.address); err == nil {
			defer quiet.Close()
			io.WriteString(quiet, "POST /api/plan HTTP/1.1\r\nHost: ")
		}
	}
	limit := rate.NewLimiter(200, 20)
	ways := []struct{ method, path, body, origin string }{
		{"GET", "api/state", "", ""}, {"GET", "api/runs", "", ""}, {"POST", "api/stop", "", "http://evil.example"}, {"POST", "api/plan", strings.Repeat("[", 60000), ""},
		{"GET", strings.Repeat("a", 2000), "", ""}, {"GET", "api/openapi.json", "", ""}, {"POST", "api/pair", `{"key":"guess"}`, ""}, {"GET", "../../etc/passwd", "", ""},
	}
	gate := make(chan struct{}, 16)
	for k := 0; limit.Wait(ctx) == nil; k++ {
		gate <- struct{}{}
		go func() {
			defer func() { <-gate }()
			w := ways[k%len(ways)]
			q, err := http.NewRequestWithContext(ctx, w.method, p.url()+w.path, strings.NewReader(w.body))
			if err != nil {
				return
			}
			q.Header.Set("Content-Type", "application/json")
			if w.origin != "" {
				q.Header.Set("Origin", w.origin)
			}
			q.AddCookie(cookie)
			sent.Add(1)
			if a, err := c.Do(q); err == nil {
				io.Copy(io.Discard, a.Body)
				a.Body.Close()
			}
		}()
	}
	for range cap(gate) {
		gate <- struct{}{}
	}
}
