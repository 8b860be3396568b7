package page

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

// paceFor is how long the page is watched.
const paceFor = 60 * time.Second

// BenchmarkFullWall shows 400 fixtures, every one of which is read ten times a second, and prints how long it takes from the entry of
// the readings to the frame that shows the last fixture's, what the server takes of a core, and how the page's memory grows. The readings
// are made in the same process, and count as the server's.
func BenchmarkFullWall(b *testing.B) {
	exe, err := exec.LookPath("chromium")
	if err != nil {
		b.Skip("chromium is not installed")
	}
	if os.Getenv("TRUEUP_LONG") == "" {
		b.Skip("takes a minute; with TRUEUP_LONG=1")
	}
	x := serveOn(b, true)
	ctx, cancel := chromedp.NewExecAllocator(b.Context(), chromedp.ExecPath(exe), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("enable-precise-memory-info", true), chromedp.Flag("js-flags", "--expose-gc"), chromedp.WSURLReadTimeout(time.Minute))
	defer cancel()
	ctx, cancel = chromedp.NewContext(ctx)
	defer cancel()
	info := &session.RunInfo{Rig: "wall", Work: "match", Tolerance: 0.001}
	for i := range 400 {
		info.Fixtures = append(info.Fixtures, session.FixtureInfo{Name: fmt.Sprint("panel ", i+1), Profile: "Panel", Probe: "mark", Col: i%25 + 1, Row: i/25 + 1})
	}
	x.board.Top(func(t *Top) { t.Phase = Working })
	x.board.Entry(session.Entry{Time: time.Now(), Kind: core.KindRun, Run: info})
	x.board.Entry(session.Entry{Time: time.Now(), Kind: core.KindReference, Reference: &session.Reference{Name: "4300 K", UV: colorcalc.UV{U: 0.22, V: 0.49}}})
	js := func(e string) string {
		v, err := chromedp.Run(ctx, chromedp.Evaluate[string]("String("+e+")"))
		if err != nil {
			b.Fatal(err)
		}
		return v
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1440, 900), chromedp.Navigate(x.url)); err != nil {
		b.Fatal(err)
	}
	for js(`document.querySelectorAll("#list .n").length`) != "400" {
		time.Sleep(50 * time.Millisecond)
	}
	js(`(() => { globalThis.seen = []; const e = [...document.querySelectorAll("#list .n")].at(-1); let was = ""; const look = () => { if (e.textContent !== was) { was = e.textContent;
		const c = new MessageChannel(); c.port1.onmessage = () => globalThis.seen.push([was, Date.now()]); c.port2.postMessage(0); } requestAnimationFrame(look); }; look(); return 0; })()`)
	heap := func() float64 {
		js("(gc(), 0)")
		v, err := strconv.ParseFloat(js("performance.memory.usedJSHeapSize"), 64)
		if err != nil {
			b.Fatal(err)
		}
		return v / 1e6
	}
	sent := map[string]int64{}
	heap0, cpu0, began := heap(), cpu(), time.Now()
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	for k := 0; time.Since(began) < paceFor; k++ {
		<-tick.C
		d := 0.0001 * float64(1+k%9000)
		sent[fmt.Sprintf("%.4f", d)] = time.Now().UnixMilli()
		for i, f := range info.Fixtures {
			m := &session.Measured{UV: colorcalc.UV{U: 0.22 + 1e-5*float64((i+k)%97), V: 0.49}, Delta: d, SigmaUV: 0.0002, Lux: 400, Probe: "mark"}
			x.board.Entry(session.Entry{Time: time.Now(), Kind: core.KindReading, Fixture: f.Name, Reading: m})
		}
	}
	share := (cpu() - cpu0).Seconds() / time.Since(began).Seconds()
	heap1 := heap()
	var seen [][2]any
	if err := json.Unmarshal([]byte(js("JSON.stringify(globalThis.seen)")), &seen); err != nil {
		b.Fatal(err)
	}
	var late []float64
	for _, s := range seen {
		if at, ok := sent[s[0].(string)]; ok {
			late = append(late, s[1].(float64)-float64(at))
		}
	}
	if len(late) == 0 {
		b.Fatal("nothing was painted")
	}
	slices.Sort(late)
	b.ReportMetric(late[len(late)/2], "ms-to-paint-median")
	b.ReportMetric(late[len(late)*95/100], "ms-to-paint-p95")
	b.ReportMetric(100*share, "%-of-a-core")
	b.ReportMetric(heap0, "MB-heap-at-first")
	b.ReportMetric(heap1, "MB-heap-at-last")
	b.ReportMetric(float64(len(late))/float64(len(sent)), "painted")
	b.ReportMetric(float64(len(sent)), "updates")
}

// cpu is what this process has taken of processors.
func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
