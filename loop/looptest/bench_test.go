package looptest

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueup/loop/solve"
)

// The bench prints one table: every method on every class, the same seeds side
// by side. TRUEUP_CASES sets the cases of a class (100 make a good table),
// TRUEUP_SEED other lamps, TRUEUP_CLASS and TRUEUP_METHOD a part of the names;
// TRUEUP_BAD=1 lists our runs that did not end honestly.
func TestBench(t *testing.T) {
	n := tableSize(t)
	var scores []Score
	for i, cl := range append(Classes(), Trials()...) {
		if !named("TRUEUP_CLASS", cl.Name) {
			continue
		}
		methods := []Method{Ours()}
		if i < len(Classes()) {
			methods = append(methods, Usual()...)
		}
		for _, m := range methods {
			if !named("TRUEUP_METHOD", m.Name) {
				continue
			}
			runs := cl.PlayAll(m, seed(), n)
			scores = append(scores, Sum(cl, m.Name, runs, Tol))
			if m.Name == Ours().Name && os.Getenv("TRUEUP_BAD") != "" {
				for i, r := range runs {
					if !r.Honest(Tol) {
						t.Logf("%s, case %d: %v, %.4f off, best possible %.4f, %d readings", cl.Name, i, r.Outcome, r.Error, r.Best, r.Readings)
					}
				}
			}
		}
	}
	t.Logf("seed %d, tolerance %g\n%s", seed(), Tol, Table(scores))
}

func named(variable, name string) bool {
	only := os.Getenv(variable)
	return only == "" || strings.Contains(name, only)
}

func seed() uint64 {
	if n, err := strconv.ParseUint(os.Getenv("TRUEUP_SEED"), 10, 64); err == nil {
		return n
	}
	return 4711
}

// A second table: what is known of a unit, and what warmth does afterwards.
func TestBenchSeries(t *testing.T) {
	n := tableSize(t)
	var b strings.Builder
	b.WriteString("| series | readings 50/95/max (mean) | true error x1e-4 50/95/max | landed % | inside tol % | false % |\n|---|---|---|--:|--:|--:|\n")
	row := func(name string, runs []Run) {
		s := Sum(Class{Name: name}, "trueup", runs, Tol)
		fmt.Fprintf(&b, "| %s | %.0f / %.0f / %.0f (%.2f) | %.1f / %.1f / %.1f | %.1f | %.1f | %.2f |\n", name, s.Readings[0], s.Readings[1], s.Readings[2], s.Mean,
			1e4*s.Error[0], 1e4*s.Error[1], 1e4*s.Error[2], 100*s.Landed, 100*s.Inside, 100*s.False)
	}
	for _, cl := range []Class{{Name: "emitters"}, {Name: "emitters, saturated", Aim: Saturated}, {Name: "cct+tint", Engine: true, Aim: Saturated}} {
		if !named("TRUEUP_CLASS", cl.Name) {
			continue
		}
		const targets = 6
		runs := make([][]Run, n)
		each(n, func(i int) { runs[i] = cl.KnownUnit(seed(), i, targets) })
		for k := range targets {
			var of []Run
			for _, r := range runs {
				if k < len(r) {
					of = append(of, r[k])
				}
			}
			row(fmt.Sprintf("%s, target %d of a unit", cl.Name, k+1), of)
		}
		for _, cold := range []bool{false, true} {
			cl.Cold = cold
			later := make([]Later, n)
			each(n, func(i int) { later[i], _ = cl.NewCase(seed(), i).Wait(Ours(), 2*time.Minute) })
			var after, trim []Run
			for _, l := range later {
				r := l.Run
				r.Error = l.After
				after, trim = append(after, r), append(trim, l.Trim)
			}
			name := cl.Name + map[bool]string{false: ", warm", true: ", stone cold"}[cold]
			row(name+": two minutes later", after)
			row(name+": the trim", trim)
		}
	}
	t.Logf("seed %d\n%s", seed(), b.String())
}

// A third table: what the units of a profile teach each other. Every rig has
// twenty units of one kind; beside it stand the same units met as strangers,
// and the same rig with a unit from far outside the bins as its fifth.
func TestBenchBatch(t *testing.T) {
	n := max(1, tableSize(t)/10)
	const units, fifth = 20, 4
	var b strings.Builder
	b.WriteString("| rig | knows | unit 1 | units 2-10 | units 11-20 | inside tol % | false % |\n|---|---|---|---|---|--:|--:|\n")
	for _, cl := range []Class{
		{Name: "emitters, usual bins"}, {Name: "emitters, same bin", Spread: 0.3}, {Name: "emitters, same bin, quiet meter", Spread: 0.3, Quiet: true},
		{Name: "cct+tint, usual bins", Engine: true}, {Name: "cct+tint, same bin", Engine: true, Spread: 0.3}, {Name: "cct+tint, same bin, quiet meter", Engine: true, Spread: 0.3, Quiet: true},
	} {
		if !named("TRUEUP_CLASS", cl.Name) {
			continue
		}
		for _, how := range []struct {
			name   string
			taught bool
			odd    int
		}{{"nothing", false, -1}, {"the batch", true, -1}, {"the batch, fifth unit odd", true, fifth}} {
			runs := make([][]Run, n)
			each(n, func(i int) {
				var teach Teacher = stranger{}
				if how.taught {
					teach = &classroom{spec: cl.Unit(seed(), uint64(i), "spec", 0).Spec}
				}
				runs[i] = cl.Batch(seed(), uint64(i), units, how.odd, teach)
			})
			part := func(from, to int) (out []Run) {
				for _, r := range runs {
					for k := from; k < to; k++ {
						if k != how.odd {
							out = append(out, r[k])
						}
					}
				}
				return out
			}
			cell := func(r []Run) string {
				s := Sum(cl, "", r, Tol)
				return fmt.Sprintf("%.0f / %.0f (%.2f)", s.Readings[0], s.Readings[1], s.Mean)
			}
			all := Sum(cl, "", part(0, units), Tol)
			fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %.1f | %.2f |\n", cl.Name, how.name, cell(part(0, 1)), cell(part(1, 10)), cell(part(10, units)), 100*all.Inside, 100*all.False)
		}
	}
	t.Logf("seed %d, %d rigs\n%s", seed(), n, b.String())
}

// stranger teaches nothing.
type stranger struct{}

func (stranger) Prior() *solve.Prior { return nil }
func (stranger) Learn(solve.Prior)   {}

// classroom is the batch as a session keeps it.
type classroom struct {
	spec  solve.Spec
	batch *solve.Batch
}

func (c *classroom) Prior() *solve.Prior {
	if c.batch == nil {
		return nil
	}
	p, err := c.batch.Prior(c.spec)
	if err != nil {
		panic(err) // the batch is of this very spec
	}
	return p
}

func (c *classroom) Learn(p solve.Prior) {
	if c.batch == nil {
		b, err := solve.NewBatch(c.spec)
		if err != nil {
			panic(err)
		}
		c.batch = b
	}
	c.batch.Learn(c.spec, p)
}

// A fourth table: what the estimate claims to know, beside the truth. Coverage
// is the share of matches whose light at the end lies within the circle that
// the claim gives that share; innovations are squared, per axis, 1 at best.
func TestBenchClaims(t *testing.T) {
	n := tableSize(t)
	levels := []float64{0.50, 0.90, 0.95, 0.99}
	var b strings.Builder
	b.WriteString("| class | claims | within 50 / 90 / 95 / 99 % | mean squared innovation per axis | median |\n|---|--:|---|--:|--:|\n")
	for _, cl := range Classes() {
		if !named("TRUEUP_CLASS", cl.Name) {
			continue
		}
		var within [4]int
		claims := 0
		var nis []float64
		sum := 0.0
		for _, r := range cl.PlayAll(Ours(), seed(), n) {
			for i := range r.NIS {
				nis = append(nis, r.NIS[i]/float64(r.AxesOf[i]))
				sum += r.NIS[i] / float64(r.AxesOf[i])
			}
			k := r.Claimed()
			if math.IsNaN(k) {
				continue
			}
			claims++
			for i, q := range levels {
				if k <= math.Sqrt(-2*math.Log(1-q)) { // chi squared with 2 degrees of freedom
					within[i]++
				}
			}
		}
		c := float64(max(claims, 1))
		fmt.Fprintf(&b, "| %s | %d | %.1f / %.1f / %.1f / %.1f | %.2f | %.2f |\n", cl.Name, claims, 100*float64(within[0])/c, 100*float64(within[1])/c,
			100*float64(within[2])/c, 100*float64(within[3])/c, sum/max(float64(len(nis)), 1), Quantile(nis, 0.5))
	}
	t.Logf("seed %d\n%s", seed(), b.String())
}

// What the loop says is true, on lamps it has never met: no code leaves its
// range, every run ends, and hardly a landing is a miss. The figures here are
// loose; the table has the sharp ones.
func TestWhatTheLoopSaysIsTrue(t *testing.T) {
	landed, inside := 0, 0
	for _, cl := range append(Classes(), Trials()...) {
		for n, r := range cl.PlayAll(Ours(), 2024, size(8)) {
			switch {
			case r.Broken != "":
				t.Errorf("%s, case %d: %s", cl.Name, n, r.Broken)
			case r.Readings == 0:
				t.Errorf("%s, case %d: %v without a reading", cl.Name, n, r.Outcome)
			case r.Outcome == solve.Landed && r.Error > 3*Tol:
				t.Errorf("%s, case %d: landed %.4f off", cl.Name, n, r.Error)
			}
			if r.Outcome == solve.Landed {
				landed++
				if r.Error <= Tol {
					inside++
				}
			}
		}
	}
	if landed == 0 || float64(inside) < 0.93*float64(landed) {
		t.Errorf("%d of %d landings are inside tolerance", inside, landed)
	}
}

// The same seed gives the same run, bit for bit, on any number of processors.
func TestRunsAreReproducible(t *testing.T) {
	for _, cl := range Classes() {
		for _, m := range []Method{Ours(), Usual()[0]} {
			a, b := cl.PlayAll(m, 5, 2), cl.PlayAll(m, 5, 2)
			for i := range a {
				if fmt.Sprint(a[i]) != fmt.Sprint(b[i]) {
					t.Errorf("%s, %s, case %d: %v, then %v", cl.Name, m.Name, i, a[i], b[i])
				}
			}
		}
	}
}

// BenchmarkMatch is the price of one simulated match, plant and estimate.
func BenchmarkMatch(b *testing.B) {
	for _, cl := range []Class{Classes()[0], Classes()[4]} {
		for _, m := range []Method{Ours(), Usual()[4]} {
			b.Run(cl.Name+"/"+m.Name, func(b *testing.B) {
				for i := range b.N {
					cl.NewCase(1, i%100).Play(m)
				}
			})
		}
	}
}
