package page

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"sync"
	"testing"

	"trueup/loop/session"
)

// A machine that opens connections and says nothing takes its own share of them, and another's Stop gets through.
func TestAStrangerWhoOpensConnectionsKeepsNobodyOut(t *testing.T) {
	x := serveOn(t, false)
	from := net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 0, 2)}}
	for range maxConns + 50 {
		c, err := from.Dial("tcp", strings.TrimPrefix(x.url, "http://"))
		if err != nil {
			t.Skip("this system has no second loopback address:", err)
		}
		defer c.Close()
		io.WriteString(c, "GET / HTTP/1.1\r\nHost: ")
	}
	if code, text := x.do(x.paired(), "POST", stopPath, ""); code != 409 { // there is nothing to stop
		t.Errorf("beside it stop is answered %d %s", code, text)
	}
}

// Guessing keys keeps nobody out whose key is good, and drives no line of a run out of the log.
func TestGuessedKeysDisturbNobody(t *testing.T) {
	x := serveOn(t, false)
	c := x.browser()
	for range 4 * pairBurst {
		x.do(c, "POST", "/api/pair", `{"key":"guess"}`)
	}
	if n := len(x.board.Now().Log); n != 1 {
		t.Errorf("%d lines of the log are about guessed keys, want 1", n)
	}
	if code, text := x.do(c, "POST", "/api/pair", fmt.Sprintf(`{"key":%q}`, x.people.newKey())); code/100 != 2 {
		t.Errorf("a good key is answered %d %s", code, text)
	}
}

// Of two who act at the same moment one operates, and the other is told to look on.
func TestTwoWhoActAtOnceAreNotBothOperators(t *testing.T) {
	for range 300 {
		p := newPeople(make([]byte, 32), false, NewBoard("", "e", nil))
		var wg sync.WaitGroup
		var mu sync.Mutex
		n := 0
		for i := range 4 {
			who := Person{ID: fmt.Sprint(i), Name: fmt.Sprint("page ", i)}
			wg.Go(func() {
				if p.operates(who) == nil {
					mu.Lock()
					n++
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		if n != 1 {
			t.Fatalf("%d operate", n)
		}
	}
}

// A flood of streams that begin at the same moment takes no more than one browser's share.
func TestStreamsOpenedAtOnceAreCounted(t *testing.T) {
	p := newPeople(make([]byte, 32), false, NewBoard("", "e", nil))
	var wg sync.WaitGroup
	for range 200 {
		wg.Go(func() { p.openPage(Person{ID: "1"}) })
	}
	wg.Wait()
	if p.open != streamsPerOne {
		t.Errorf("%d streams of one browser are open, want %d", p.open, streamsPerOne)
	}
}

// A run that ends while somebody stops it is over, and the next one can begin.
func TestAStopAtTheEndOfARunLeavesThePageFree(t *testing.T) {
	for range 500 {
		b := NewBoard("a rig", "e", nil)
		c := NewControl(t.Context(), b, nil)
		c.running, c.stop = true, func(error) {}
		var wg sync.WaitGroup
		wg.Go(func() { c.Stop("page 1") })
		wg.Go(func() { c.ended(session.Job{}, nil, nil) })
		wg.Wait()
		if p := b.Phase(); p != Over {
			t.Fatalf("the run has ended, the page says %s", p)
		}
	}
}

// Nothing begins while the program ends: nobody would be left to hand the lamps back.
func TestNothingBeginsWhileTheProgramEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	opened := false
	c := NewControl(ctx, NewBoard("a rig", "e", nil), func(context.Context, Order) (*Prepared, error) {
		return &Prepared{Open: func(context.Context, session.Job) (*session.Run, error) { opened = true; return nil, io.EOF }}, nil
	})
	p, err := c.Prepare(ctx, Order{})
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	if err := c.Start(p.ID, "page 1"); err == nil {
		t.Error("a run was begun")
	}
	c.Wait()
	if opened {
		t.Error("a run was opened")
	}
}

// A rig is checked by one at a time: two checks would take the meters from each other.
func TestOneCheckAtATime(t *testing.T) {
	x := serveOn(t, true)
	began, let := make(chan struct{}), make(chan struct{})
	x.cfg.Check = func(context.Context) (string, []error) { close(began); <-let; return "", nil }
	first := make(chan int, 1)
	a, b := x.paired(), x.paired()
	go func() { code, _ := x.do(a, "POST", "/api/check", ""); first <- code }()
	<-began
	if code, _ := x.do(b, "POST", "/api/check", ""); code != 409 {
		t.Errorf("a second check is answered %d", code)
	}
	close(let)
	if code := <-first; code != 200 {
		t.Errorf("the first is answered %d", code)
	}
}

// Pages that ask for everything again and again are given what was made once, and a page that goes on from it misses nothing.
func TestTheWholeStateIsMadeOnceBetweenMessages(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	b.Say("one", false)
	b.flush()
	first, last, _, _ := b.since(0, false)
	b.Say("two", false)
	again, at, _, _ := b.since(0, false)
	if &first[0].data[0] != &again[0].data[0] || at != last {
		t.Error("the state was made twice")
	}
	b.flush()
	next, _, _, _ := b.since(at, true)
	if len(next) != 1 || !bytes.Contains(next[0].data, []byte(`"two"`)) || bytes.Contains(again[0].data, []byte(`"two"`)) {
		t.Errorf("after the state come %d messages, and it holds %s", len(next), again[0].data)
	}
	if third, _, _, _ := b.since(0, false); !bytes.Contains(third[0].data, []byte(`"two"`)) {
		t.Error("after a message the state is old")
	}
}
