package page

import (
	"fmt"
	"net"
	"net/url"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// A phone whose network swallows everything says that it is not live, and by itself catches up when the network is back: it shows what came
// meanwhile, each line once, though nothing told it that its connection had died.
func TestAPhoneThatLostItsNetworkCatchesUp(t *testing.T) {
	var h *hole
	w := openWallBy(t, func(at string) (string, []chromedp.ExecAllocatorOption) {
		u, err := url.Parse(at)
		if err != nil {
			t.Fatal(err)
		}
		h = newHole(t, u.Host)
		return "http://localhost:" + u.Port() + "/", []chromedp.ExecAllocatorOption{chromedp.Flag("host-resolver-rules", "MAP localhost "+h.l.Addr().String())}
	})
	w.play(0, 3)
	h.swallow(true)
	for k := 3; k < 9; k++ {
		w.tell(k)
	}
	w.until(`document.getElementById("link").textContent === "NOT LIVE" && !document.getElementById("stale").hidden`)
	if n := w.js(`document.getElementById("log").childElementCount`); n != "3" {
		t.Fatalf("%s lines came through the hole", n)
	}
	w.tell(9)
	h.swallow(false)
	w.until(`document.getElementById("link").textContent.startsWith("live") && document.getElementById("stale").hidden`)
	w.until(`document.querySelector("#log li")?.textContent.endsWith("update 10")`)
	if n := w.js(`document.getElementById("log").childElementCount`); n != "10" {
		t.Errorf("the log has %s lines, want 10", n)
	}
	w.until(fmt.Sprintf(`[...document.querySelectorAll("#list .n")].every((e) => e.textContent === %q)`, "0.0010"))
}

// hole is a network between a page and its server that may swallow all that is sent.
type hole struct {
	l    net.Listener
	mu   sync.Mutex
	open *sync.Cond
	shut bool
	all  []net.Conn
}

func newHole(t testing.TB, to string) *hole {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h := &hole{l: l}
	h.open = sync.NewCond(&h.mu)
	var over sync.WaitGroup
	over.Go(func() {
		for {
			page, err := l.Accept()
			if err != nil {
				return
			}
			server, err := net.Dial("tcp", to)
			if err != nil {
				page.Close()
				continue
			}
			h.mu.Lock()
			h.all = append(h.all, page, server)
			h.mu.Unlock()
			over.Go(func() { h.pass(server, page) })
			over.Go(func() { h.pass(page, server) })
		}
	})
	t.Cleanup(func() {
		l.Close()
		h.swallow(false)
		h.mu.Lock()
		for _, c := range h.all {
			c.Close()
		}
		h.mu.Unlock()
		over.Wait()
	})
	return h
}

// swallow begins or ends that nothing comes through.
func (h *hole) swallow(yes bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.shut = yes
	h.open.Broadcast()
}

// pass passes on what comes, and loses what comes while all is swallowed, and with it the connection, of which neither end hears.
func (h *hole) pass(to, from net.Conn) {
	defer to.Close()
	b := make([]byte, 1<<16)
	for {
		n, err := from.Read(b)
		h.mu.Lock()
		lost := h.shut
		for h.shut {
			h.open.Wait()
		}
		h.mu.Unlock()
		if err != nil || lost {
			return
		}
		if _, err := to.Write(b[:n]); err != nil {
			return
		}
	}
}
