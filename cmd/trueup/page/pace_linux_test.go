package page

import (
	"encoding/json"
	"fmt"
	"slices"
	"syscall"
	"testing"
	"time"
)

// paceFor is how long the page is watched.
const paceFor = 60 * time.Second

// BenchmarkFullWall shows 400 fixtures, every one of which is read ten times a second, and prints how long it takes from the entry of
// the readings to the frame that shows the last fixture's, what the server takes of a core, and how the page's memory grows. The readings
// are made in the same process, and count as the server's.
func BenchmarkFullWall(b *testing.B) {
	w := openWall(b)
	w.js(`(() => { globalThis.seen = []; const e = [...document.querySelectorAll("#list .n")].at(-1); let was = ""; const look = () => { if (e.textContent !== was) { was = e.textContent;
		const c = new MessageChannel(); c.port1.onmessage = () => globalThis.seen.push([was, Date.now()]); c.port2.postMessage(0); } requestAnimationFrame(look); }; look(); return 0; })()`)
	sent := map[string]int64{}
	heap0, cpu0, began := w.kept().heap, cpu(), time.Now()
	tick := time.NewTicker(100 * time.Millisecond)
	defer tick.Stop()
	for k := 0; time.Since(began) < paceFor; k++ {
		<-tick.C
		d := 0.0001 * float64(1+k%9000)
		sent[fmt.Sprintf("%.4f", d)] = time.Now().UnixMilli()
		w.update(k, d)
	}
	share := (cpu() - cpu0).Seconds() / time.Since(began).Seconds()
	heap1 := w.kept().heap
	var seen [][2]any
	if err := json.Unmarshal([]byte(w.js("JSON.stringify(globalThis.seen)")), &seen); err != nil {
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
