package feed_test

import (
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/looptest"
	"trueup/loop/solve"
)

// bench is one lamp under one meter in virtual time. The meter speaks lines of
// our own through a pipe, well or badly.
type bench struct {
	mu    sync.Mutex
	w     *looptest.World
	rng   *rand.Rand
	bad   bool
	drive solve.Drive
}

const (
	benchIntegration = 200 * time.Millisecond
	benchLatency     = 80 * time.Millisecond
	benchSlices      = 5
)

// meter runs until ctx ends: averages true light over each window, adds noise,
// rounds, and sends the line late.
func (b *bench) meter(ctx context.Context, out io.Writer) {
	c := b.w.Case
	var last string
	for seq := 1; ; seq++ {
		var sum colorcalc.XYZ
		for range benchSlices {
			select {
			case <-time.After(benchIntegration / benchSlices):
			case <-ctx.Done():
				return
			}
			b.mu.Lock()
			b.w.Plant.Advance(benchIntegration / benchSlices)
			sum = sum.Add(b.w.Plant.Light().Add(c.Ambient).Scale(c.Lux / benchSlices))
			b.mu.Unlock()
		}
		uv := sum.UV()
		s := c.Meter.SigmaUV
		xy := colorcalc.UV{U: uv.U + s*b.rng.NormFloat64(), V: uv.V + s*b.rng.NormFloat64()}.XY()
		lux := sum.Y * math.Exp(c.Meter.SigmaLevel*b.rng.NormFloat64())
		end := time.Now()
		line := func(x, y float64) string {
			return fmt.Sprintf(`{"seq":%d,"time_unix_ms":%d,"integration_ms":200,"x":%.4f,"y":%.4f,"lux":%.1f}`+"\n", seq, end.UnixMilli(), x, y, lux)
		}
		good := line(xy.X, xy.Y)
		send := good
		if fate := b.rng.Float64(); b.bad {
			switch {
			case fate < 0.05: // stale: an old line again
				if last != "" {
					send = last
				}
			case fate < 0.06: // absurd, impossible
				send = line(0.9, 0.7)
			case fate < 0.07: // absurd, but a colour
				send = line(0.2+0.4*b.rng.Float64(), 0.2+0.3*b.rng.Float64())
			case fate < 0.17: // missing
				send = ""
			}
		}
		last = good
		go func() {
			select {
			case <-time.After(benchLatency):
				if send != "" {
					io.WriteString(out, send)
				}
			case <-ctx.Done():
			}
		}()
	}
}

// Set implements looptest.Lamp: the wire takes a while.
func (b *bench) Set(ctx context.Context, d solve.Drive) (time.Time, solve.Drive, error) {
	time.Sleep(100 * time.Millisecond)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.w.Plant.Set(d)
	b.drive = slices.Clone(d)
	return time.Now(), b.drive, nil
}

// play matches one case through a feed and tells how it ended.
func play(t *testing.T, cl looptest.Class, n int, bad bool) (out solve.Outcome, trueError float64, readings int, aside uint64) {
	synctest.Test(t, func(t *testing.T) {
		c := cl.NewCase(20260101, n)
		b := &bench{w: c.Start(), rng: rand.New(rand.NewPCG(uint64(n), 99)), bad: bad, drive: c.Found}
		ctx, cancel := context.WithCancel(t.Context())
		r, w := io.Pipe()
		f, err := feed.Open(ctx, feed.Config{Name: "bench", Kind: "stdin", Input: r})
		if err != nil {
			t.Fatal(err)
		}
		var wg sync.WaitGroup
		wg.Go(func() { b.meter(ctx, w) })
		m, err := solve.New(c.Spec, c.Target, nil, c.Options)
		if err != nil {
			t.Fatal(err)
		}
		v := &loop.Visit{Match: m, Settle: 450 * time.Millisecond, At: loop.Arrival{Sent: c.Found}}
		err = looptest.Drive(ctx, v, time.Now(), b, f.Probe(""), func(r feed.Reading) solve.Reading {
			return solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: c.ToldSigma, SigmaLnY: c.Meter.SigmaLevel, RoundXY: r.RoundXY}
		})
		if err != nil {
			t.Error(err)
		}
		for _, k := range f.Status().SetAside {
			aside += k
		}
		aside -= f.Status().SetAside[feed.BeforeSettle]
		b.mu.Lock()
		out, readings = v.Final.Outcome, v.Readings
		trueError = b.w.Plant.Light().Add(c.Ambient).Scale(c.Lux).UV().Dist(c.Target.UV)
		b.mu.Unlock()
		cancel()
		w.Close()
		wg.Wait()
		f.Close()
	})
	return out, trueError, readings, aside
}

// A feed with 5 % stale, 2 % absurd and 10 % missing readings changes no
// outcome, and no final error beyond what noise does.
func TestBadFeedChangesNoOutcome(t *testing.T) {
	n := 12
	if os.Getenv("TRUEUP_LONG") == "1" {
		n = 150
	}
	for _, cl := range looptest.Classes() {
		if cl.Aim != looptest.NearWhite {
			continue
		}
		var sum, sumBad float64
		var far, farBad, took, tookBad int
		var aside uint64
		for i := range n {
			o1, e1, r1, _ := play(t, cl, i, false)
			o2, e2, r2, a := play(t, cl, i, true)
			if o1 != o2 {
				t.Errorf("%s, case %d: %v with a good feed (%.5f off), %v with a bad one (%.5f off)", cl.Name, i, o1, e1, o2, e2)
			}
			sum, sumBad, took, tookBad, aside = sum+e1, sumBad+e2, took+r1, tookBad+r2, aside+a
			for _, e := range []struct {
				v float64
				n *int
			}{{e1, &far}, {e2, &farBad}} {
				if e.v > 1.5*looptest.Tol {
					*e.n++
				}
			}
		}
		k := float64(n)
		t.Logf("| %-28s | good feed: error %.5f, readings %.2f, beyond 1.5 tol %d | bad feed: %.5f, %.2f, %d | set aside %d |",
			cl.Name, sum/k, float64(took)/k, far, sumBad/k, float64(tookBad)/k, farBad, aside)
		// Each error scatters by about 0.00035 from case to case, whatever the feed;
		// the difference of two means by that times sqrt(2/n). Four of these.
		if d := (sumBad - sum) / k; d > 4*0.00035*math.Sqrt(2/k) {
			t.Errorf("%s: mean error grows by %.5f", cl.Name, d)
		}
		if farBad > far+n/50+1 {
			t.Errorf("%s: %d of %d false landings with a bad feed, %d with a good one", cl.Name, farBad, n, far)
		}
		if aside == 0 {
			t.Errorf("%s: nothing was set aside: were there faults at all?", cl.Name)
		}
	}
}
