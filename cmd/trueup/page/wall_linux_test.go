package page

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

// wallOf is a page that shows a run on 400 fixtures, in a browser of its own.
type wallOf struct {
	*served
	ctx  context.Context
	info *session.RunInfo
	at   string    // by which the browser reaches it
	now  time.Time // of the last update, by the journal
}

func openWall(t testing.TB) *wallOf {
	t.Helper()
	return openWallBy(t, func(url string) (string, []chromedp.ExecAllocatorOption) { return url, nil })
}

// openWallBy is openWall, where the page is reached by another address than the server's.
func openWallBy(t testing.TB, way func(url string) (string, []chromedp.ExecAllocatorOption)) *wallOf {
	t.Helper()
	if os.Getenv("TRUEUP_LONG") == "" {
		t.Skip("takes a minute; with TRUEUP_LONG=1")
	}
	w := browse(t, serveOn(t, true), way)
	w.info = &session.RunInfo{Rig: "wall", Work: "match", Tolerance: 0.001}
	for i := range 400 {
		w.info.Fixtures = append(w.info.Fixtures, session.FixtureInfo{Name: fmt.Sprint("panel ", i+1), Profile: "Panel", Probe: "mark", Col: i%25 + 1, Row: i/25 + 1})
	}
	w.board.Top(func(t *Top) { t.Phase = Working })
	w.board.Entry(session.Entry{Time: w.now, Kind: core.KindRun, Run: w.info})
	w.board.Entry(session.Entry{Time: w.now, Kind: core.KindReference, Reference: &session.Reference{Name: "4300 K", UV: colorcalc.UV{U: 0.22, V: 0.49}}})
	w.must(chromedp.Do(w.ctx, chromedp.EmulateViewport(1440, 900), chromedp.Navigate(w.at)))
	w.until(`document.querySelectorAll("#list .n").length === 400`)
	// Else the browser hands every message of the stream on to this process, which takes of both what no page takes.
	_, err := chromedp.Run(w.ctx, func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, t, network.Disable, cdp.Empty{})
	})
	w.must(err)
	return w
}

// browse starts a browser for a server, which it reaches by way.
func browse(t testing.TB, x *served, way func(url string) (string, []chromedp.ExecAllocatorOption)) *wallOf {
	t.Helper()
	exe, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal("chromium is not installed")
		}
		t.Skip("chromium is not installed")
	}
	at, more := way(x.url)
	w := &wallOf{served: x, at: at, now: time.Now()}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), append(more, chromedp.ExecPath(exe), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("js-flags", "--expose-gc"), chromedp.WSURLReadTimeout(time.Minute))...)
	t.Cleanup(cancel)
	w.ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	return w
}

func (w *wallOf) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

// js evaluates an expression to a text.
func (w *wallOf) js(e string) string {
	w.t.Helper()
	v, err := chromedp.Run(w.ctx, chromedp.Evaluate[string]("String("+e+")"))
	w.must(err)
	return v
}

// until waits until an expression is true.
func (w *wallOf) until(e string) {
	w.t.Helper()
	for end := time.Now().Add(4 * time.Minute); w.js("Boolean("+e+")") != "true"; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatalf("%s has not become true; the page says %.1500s", e, w.js("document.body.innerText"))
		}
	}
}

// update has every fixture read once, at a distance from the target; k counts updates.
func (w *wallOf) update(k int, distance float64) {
	for i, f := range w.info.Fixtures {
		m := &session.Measured{UV: colorcalc.UV{U: 0.22 + 1e-5*float64((i+k)%97), V: 0.49}, Delta: distance, SigmaUV: 0.0002, Lux: 400, Probe: "mark"}
		w.board.Entry(session.Entry{Time: w.now, Kind: core.KindReading, Fixture: f.Name, Reading: m})
	}
}

// keptBy is what page and server hold after their garbage was collected.
type keptBy struct {
	heap      float64 // of the page's scripts, MB
	nodes     float64 // of its documents, those that are in no tree any more too
	listeners float64
	server    float64 // heap of this process, MB
}

func (k keptBy) String() string {
	return fmt.Sprintf("page %.2f MB, %.0f nodes, %.0f listeners; server %.2f MB", k.heap, k.nodes, k.listeners, k.server)
}

// kept is the least of several collections: one alone may find nodes in use by what the page is just doing, such as all that a
// list showed before it was drawn anew.
func (w *wallOf) kept() keptBy {
	w.t.Helper()
	least := w.keptNow()
	for range 5 {
		time.Sleep(100 * time.Millisecond)
		k := w.keptNow()
		least = keptBy{min(least.heap, k.heap), min(least.nodes, k.nodes), min(least.listeners, k.listeners), min(least.server, k.server)}
	}
	return least
}

func (w *wallOf) keptNow() (k keptBy) {
	w.t.Helper()
	w.js("(gc(), gc(), 0)")
	all, err := chromedp.Run(w.ctx, func(ctx context.Context, t *chromedp.Target) (performance.GetMetricsResult, error) {
		if _, err := cdp.Call(ctx, t, performance.Enable, performance.EnableParams{}); err != nil {
			return performance.GetMetricsResult{}, err
		}
		return cdp.Call(ctx, t, performance.GetMetrics, cdp.Empty{})
	})
	w.must(err)
	for _, m := range all.Metrics {
		switch m.Name {
		case "JSHeapUsedSize":
			k.heap = m.Value / 1e6
		case "Nodes":
			k.nodes = m.Value
		case "JSEventListeners":
			k.listeners = m.Value
		}
	}
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	k.server = float64(m.HeapAlloc) / 1e6
	return k
}
