//go:build unix

package rehearse

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/safety"
)

// Four hundred lamps are rehearsed while a person waits.
func BenchmarkRehearse400(b *testing.B) {
	j := wall(b, 400, 1)
	for b.Loop() {
		if p, err := j.Play(); err != nil || p.Err != nil {
			b.Fatal(err, p.Err)
		}
	}
}

// BenchmarkRuns plays whole runs in virtual time and prints, as a table, what a lamp costs. Walls of equal panels with
// one, four and eight probes; then ever more fixtures of five types, one probe; and the demo's rig. Each figure is the median of five seeds.
// TRUEUP_LONG=1 adds four thousand, the most that a rig may have.
func BenchmarkRuns(b *testing.B) {
	rows := []string{"| rig | s a lamp | × floor | fade | settle | window | integration | latency | watch | tool, ms | readings | peak MB | journal kB a lamp | report kB a lamp, ms |",
		"|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|"}
	for _, panels := range []int{12, 60, 400} {
		for _, probes := range []int{1, 4, 8} {
			name := fmt.Sprintf("%d panels, %d probes", panels, probes)
			b.Run(name, func(b *testing.B) { rows = append(rows, benchRun(b, name, wall(b, panels, probes))) })
		}
	}
	fixtures := []int{10, 100, 200, 1000}
	if os.Getenv("TRUEUP_LONG") == "1" {
		fixtures = append(fixtures, 4000)
	}
	for _, n := range fixtures {
		name := fmt.Sprintf("%d fixtures", n)
		b.Run(name, func(b *testing.B) { rows = append(rows, benchRun(b, name, mixed(b, n))) })
	}
	b.Run("the demo", func(b *testing.B) {
		rows = append(rows, benchRun(b, "the demo, 8 fixtures", jobOf(b, "../../examples/demo/rig.yaml")))
	})
	fmt.Println("\n" + strings.Join(rows, "\n"))
}

// BenchmarkPaces plays two rigs with meters of several paces, five seeds each, and prints what a run takes in the median and, last, on the average of
// all. A run goes in step with the windows of its meter, so a change that just meets or misses one of them looks better or worse with one
// meter than it is.
func BenchmarkPaces(b *testing.B) {
	rows := []string{"| rig | 150 of 200, 30 ms | 150 of 190, 30 | 150 of 210, 30 | 150 of 222, 30 | 150 of 200, 10 | 150 of 200, 45 | 100 of 160, 20 | average |",
		"|---|--:|--:|--:|--:|--:|--:|--:|--:|"}
	const ms = time.Millisecond
	paces := []session.Pace{stageMeter, {Integration: 150 * ms, Period: 190 * ms, Latency: 30 * ms}, {Integration: 150 * ms, Period: 210 * ms, Latency: 30 * ms},
		{Integration: 150 * ms, Period: 222 * ms, Latency: 30 * ms}, {Integration: 150 * ms, Period: 200 * ms, Latency: 10 * ms},
		{Integration: 150 * ms, Period: 200 * ms, Latency: 45 * ms}, {Integration: 100 * ms, Period: 160 * ms, Latency: 20 * ms}}
	for _, r := range []struct {
		name string
		job  Job
	}{{"12 panels, 1 probe", wall(b, 12, 1)}, {"the demo", jobOf(b, "../../examples/demo/rig.yaml")}} {
		b.Run(r.name, func(b *testing.B) {
			row := ""
			for b.Loop() {
				row = "| " + r.name
				sum := 0.0
				for _, pace := range paces {
					r.job.Meters["meter"] = pace
					var took, floors []float64
					for seed := range benchSeeds {
						r.job.Seed = uint64(seed) + 1
						f := benchOne(b, r.job)
						took, floors = append(took, f[0]*float64(len(r.job.Compiled.Heads))), append(floors, f[12])
						sum += took[seed]
					}
					slices.Sort(took)
					slices.Sort(floors)
					row += fmt.Sprintf(" | %.1f s, × %.2f", took[benchSeeds/2], floors[benchSeeds/2])
				}
				row += fmt.Sprintf(" | %.1f s |", sum/float64(benchSeeds*len(paces)))
			}
			rows = append(rows, row)
		})
	}
	fmt.Println("\n" + strings.Join(rows, "\n"))
}

// mixed writes a rig of n fixtures of five types.
func mixed(b testing.TB, n int) Job {
	b.Helper()
	types := []string{"farnwibble-wash-16", "wiffelmoor-wash-8", "zubberlow-six-16", "orchardlight-panel-kelvin", "holmelow-panel-mired"}
	var text strings.Builder
	text.WriteString("rig: mixed\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: meter, kind: tcp, address: \"127.0.0.1:7311\"}]\n" +
		"safety: {level_cap: 60 %}\ntarget: {color: 4300K, level: 40 %}\nfixtures:\n")
	each := 20 // of one type, to a universe
	if n < 100 {
		each = 2
	}
	for i := 0; i < n; i += each {
		profile, err := filepath.Abs("../../examples/profiles/" + types[i/each%len(types)] + ".yaml")
		if err != nil {
			b.Fatal(err)
		}
		fmt.Fprintf(&text, "  - {name: lamp %d..%d, profile: %q, address: %d/1, probe: mark}\n", i+1, i+each, profile, i/each+1)
	}
	path := filepath.Join(b.TempDir(), "rig.yaml")
	if err := os.WriteFile(path, []byte(text.String()), 0o644); err != nil {
		b.Fatal(err)
	}
	return jobOf(b, path)
}

// benchSeeds are the runs of a row: each figure is the median of them.
const benchSeeds = 5

// benchRun plays a job with every seed and gives its row of the table.
func benchRun(b *testing.B, name string, j Job) (row string) {
	var figures [][]float64 // by seed
	for b.Loop() {
		figures = nil
		for seed := range benchSeeds {
			j.Seed = uint64(seed) + 1
			figures = append(figures, benchOne(b, j))
		}
	}
	mid := make([]float64, len(figures[0]))
	for k := range mid {
		var of []float64
		for _, f := range figures {
			of = append(of, f[k])
		}
		slices.Sort(of)
		mid[k] = of[len(of)/2]
	}
	b.ReportMetric(mid[0], "s/lamp")
	b.ReportMetric(mid[6], "tool-ms/lamp")
	b.ReportMetric(mid[7], "readings/lamp")
	ratio := "–" // not told of lanes
	if mid[12] > 0 {
		ratio = fmt.Sprintf("%.2f", mid[12])
	}
	return fmt.Sprintf("| %s | %.2f | %s | %.2f | %.2f | %.2f | %.2f | %.2f | %.2f | %.1f | %.1f | %.0f | %.0f | %.1f, %.1f |", name, mid[0], ratio, mid[1], mid[2], mid[3], mid[4], mid[5], mid[13], mid[6], mid[7], mid[8], mid[9], mid[10], mid[11])
}

// benchOne plays a job once. The figures are those of the table, in its order, then how many times its floor the run took, and what it watched.
func benchOne(b *testing.B, j Job) []float64 {
	runtime.GC()
	peak, n := uint64(0), 0
	j.Listen = func(session.Entry) {
		if n++; n%50 == 0 {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			peak = max(peak, m.HeapInuse)
		}
	}
	began := processor()
	p, err := j.Play()
	if err != nil || p.Err != nil {
		b.Fatal(err, p.Err)
	}
	tool := processor() - began
	var spending session.Spending
	journal := 0
	for i := range p.Entries {
		spending.Take(&p.Entries[i])
		line, err := json.Marshal(&p.Entries[i])
		if err != nil {
			b.Fatal(err)
		}
		journal += len(line) + 1
	}
	began = processor()
	summary, err := session.Summarise(p.Entries)
	if err != nil {
		b.Fatal(err)
	}
	var page bytes.Buffer
	if err := report.WritePage(&page, summary, report.Extras{Cautions: safety.Cautions}); err != nil {
		b.Fatal(err)
	}
	write := processor() - began
	lamps := float64(len(j.Compiled.Heads))
	s := spending.Spent()
	each := func(d time.Duration) float64 { return d.Seconds() / lamps }
	floors := 0.0
	if summary.Floor > 0 {
		floors = p.Took.Seconds() / summary.Floor.Seconds()
	}
	return []float64{each(p.Took), each(s.Fade), each(s.Settle), each(s.Window), each(s.Integration), each(s.Latency), 1e3 * each(tool), float64(p.Readings) / lamps,
		float64(peak) / 1e6, float64(journal) / 1e3 / lamps, float64(page.Len()) / 1e3 / lamps, 1e3 * each(write), floors, each(s.Watch)}
}

// processor is the time that this program has had of the processors: a machine with other work does not change it.
func processor() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
