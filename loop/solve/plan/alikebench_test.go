package plan

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc/quality"
)

// BenchmarkChoice is one choice of a mix for made-up lamps: what depends on the reference and the observers alone, the spectra of the
// emitters, the search. Beside the mean it tells the 99th percentile over the lamps, of each the quickest of its turns, so that what else
// the machine does does not count, and the most steps of a search.
func BenchmarkChoice(b *testing.B) {
	for _, n := range []int{6, 8} {
		r := rand.New(rand.NewPCG(1, 2))
		var lamps []madeUp
		for range 60 {
			lamps = append(lamps, madeUpLamp(r, n))
		}
		for _, seen := range []struct {
			by string
			o  []quality.Observer
		}{{"camera", []quality.Observer{madeUpCamera(b, r).Observer("a camera")}}, {"set", quality.ObserverSet()}} {
			var prepared []*quality.Mixing
			for _, m := range lamps {
				prepared = append(prepared, mixing(b, m, seen.o...))
			}
			var views []*quality.View
			for _, m := range lamps {
				v, err := quality.NewView(m.reference, seen.o...)
				if err != nil {
					b.Fatal(err)
				}
				views = append(views, v)
			}
			b.Run(fmt.Sprintf("view/%d/%s", n, seen.by), func(b *testing.B) {
				times(b, len(lamps), func(k int) int { _, _ = quality.NewView(lamps[k].reference, seen.o...); return 0 })
			})
			b.Run(fmt.Sprintf("spectra/%d/%s", n, seen.by), func(b *testing.B) {
				times(b, len(lamps), func(k int) int { _, _ = views[k].Mixing(lamps[k].emitters); return 0 })
			})
			b.Run(fmt.Sprintf("solve/%d/%s", n, seen.by), func(b *testing.B) {
				times(b, len(lamps), func(k int) int { return best(b, lamps[k], prepared[k], 0.7, true).Steps })
			})
		}
	}
}

// times runs what is measured, lamp after lamp, and reports how long it takes at the 99th percentile, and its most steps.
func times(b *testing.B, lamps int, run func(k int) int) {
	took := make([]float64, lamps)
	most, turn := 0, 0
	b.ReportAllocs()
	for b.Loop() {
		k := turn % lamps
		began := time.Now()
		most = max(most, run(k))
		if ms := time.Since(began).Seconds() * 1e3; turn < lamps || ms < took[k] {
			took[k] = ms
		}
		turn++
	}
	b.ReportMetric(quantile(took[:min(turn, lamps)], 0.99), "p99-ms")
	if most > 0 {
		b.ReportMetric(float64(most), "most-steps")
	}
}
