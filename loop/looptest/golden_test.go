package looptest

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	digest "hash"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles/law"
)

// The solver decides what it decided before, to the last bit: every decision and
// every account of some thousand matches, in three digests a line.
//
//	decisions  actions, codes, verdicts, outcomes, causes: what reaches a lamp or a report
//	bits       every figure, bit by bit, and the posterior
//	words      the sentences
//
// A change that is meant to change none of them changes no line; one that mends
// words changes only the last column; one that changes the arithmetic shows
// whether a lamp would ever see it. TRUEUP_GOLDEN=write writes the file anew. The
// figures are those of amd64: other processors fuse multiplications and additions.
func TestGoldenDecisions(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("the digests are those of amd64, whose arithmetic fuses nothing")
	}
	if testing.Short() {
		t.Skip("-short leaves the digests out")
	}
	var rows []goldenRow
	for _, cl := range append(Classes(), Trials()...) {
		rows = append(rows, goldenRow{cl.Name, func(seed uint64, l *ledger) {
			for n := range goldenCases {
				l.play(cl.NewCase(seed, n), nil, nil)
			}
		}})
	}
	rows = append(rows, goldenKnown()...)
	rows = append(rows, goldenBatches()...)
	rows = append(rows, goldenOddities()...)
	seeds := []uint64{11, 4711, 90210}
	lines := make([]string, len(rows)*len(seeds))
	each(len(lines), func(i int) {
		r, seed := rows[i/len(seeds)], seeds[i%len(seeds)]
		l := newLedger()
		r.play(seed, l)
		lines[i] = fmt.Sprintf("%-44s %-6d %s", r.name, seed, l)
	})
	name := filepath.Join("testdata", "golden.txt")
	got := strings.Join(lines, "\n") + "\n"
	if os.Getenv("TRUEUP_GOLDEN") == "write" {
		if err := os.WriteFile(name, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Logf("wrote %d lines", len(lines))
		return
	}
	file, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Split(strings.TrimSuffix(string(file), "\n"), "\n")
	if len(want) != len(lines) {
		t.Fatalf("%d lines in %s, %d played", len(want), name, len(lines))
	}
	columns := [...]string{"decisions", "bits", "words"}
	var differ [3]int
	for i := range lines {
		a, b := strings.Fields(lines[i]), strings.Fields(want[i])
		for k := range columns {
			if a[len(a)-3+k] != b[len(b)-3+k] {
				differ[k]++
				t.Errorf("%s differ: %s", columns[k], strings.Join(a[:len(a)-3], " "))
			}
		}
	}
	if differ != [3]int{} {
		t.Errorf("of %d lines %d differ in decisions, %d in bits, %d in words", len(lines), differ[0], differ[1], differ[2])
	}
}

// goldenCases are the matches of a row.
const goldenCases = 6

// goldenRow is one line for each seed.
type goldenRow struct {
	name string
	play func(seed uint64, l *ledger)
}

// ledger digests what a match decided and what it made of its readings.
type ledger struct{ decisions, bits, words digest.Hash }

func newLedger() *ledger { return &ledger{sha256.New(), sha256.New(), sha256.New()} }

func (l *ledger) String() string {
	return fmt.Sprintf("%.6x %.6x %.6x", l.decisions.Sum(nil), l.bits.Sum(nil), l.words.Sum(nil))
}

func (l *ledger) say(v ...any) { fmt.Fprintln(l.decisions, v...) }

func (l *ledger) figures(v ...float64) {
	for _, f := range v {
		var b [8]byte
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(f))
		l.bits.Write(b[:])
	}
}

func (l *ledger) decision(d solve.Decision) {
	l.say(d.Action, []uint32(d.Drive), d.Outcome, d.Cause)
	l.figures(d.Predicted.U, d.Predicted.V, d.PredictedY, d.PredictedSD, d.P, d.Nearest.U, d.Nearest.V, d.Distance)
	fmt.Fprintln(l.words, d.Reason)
}

func (l *ledger) account(a solve.Account) {
	l.say(a.Verdict, a.Axes, a.Cause)
	l.figures(a.Predicted.U, a.Predicted.V, a.Innovation.U, a.Innovation.V, a.InnovationLnY, a.Mahalanobis, a.Error,
		a.Estimate.U, a.Estimate.V, a.EstimateSD, a.P)
	fmt.Fprintln(l.words, a.Words)
}

func (l *ledger) posterior(p solve.Prior) {
	l.say(p.Kind, p.States, []uint32(p.Drive), p.Scaled, p.Batch)
	for _, h := range p.Hypotheses {
		l.say(h.Law, h.Wide, h.Scale)
		l.figures(h.Weight)
		l.figures(h.Mean...)
		l.figures(h.Cov...)
	}
}

// listener hands a match's words to a ledger. wire, unless nil, is what a lamp
// gets of a drive: the match never hears of it.
type listener struct {
	*solve.Match
	l    *ledger
	wire func(solve.Drive) solve.Drive
	last solve.Drive
}

func (h *listener) Next(at time.Duration) solve.Decision {
	d := h.Match.Next(at)
	h.l.decision(d)
	if d.Drive != nil {
		h.last = slices.Clone(d.Drive)
	}
	if h.wire != nil && d.Drive != nil {
		d.Drive = h.wire(slices.Clone(d.Drive))
	}
	return d
}

func (h *listener) Observe(r solve.Reading) solve.Account {
	if h.wire != nil {
		r.Drive = slices.Clone(h.last)
	}
	a := h.Match.Observe(r)
	h.l.account(a)
	return a
}

// play plays one case from a prior and returns what is known at the end.
func (l *ledger) play(c *Case, known *solve.Prior, wire func(solve.Drive) solve.Drive) solve.Prior {
	return l.playOn(c.Start(), known, wire)
}

func (l *ledger) playOn(w *World, known *solve.Prior, wire func(solve.Drive) solve.Drive) solve.Prior {
	c := w.Case
	m, err := solve.New(c.Spec, c.Target, known, c.Options)
	if err != nil {
		l.say(err)
		return solve.Prior{}
	}
	r := w.Match(&listener{Match: m, l: l, wire: wire}, c.Target)
	l.say(r.Readings, r.Outcome, r.Broken)
	p := m.Posterior()
	l.posterior(p)
	return p
}

// goldenKnown plays four targets on one unit, keeping what was learnt.
func goldenKnown() (rows []goldenRow) {
	for _, cl := range []Class{{Name: "emitters"}, {Name: "emitters, saturated", Aim: Saturated}, {Name: "cct+tint", Engine: true, Aim: Saturated},
		{Name: "xy", Engine: true, Mode: stage.ByXY}, {Name: "hue/sat", Engine: true, Mode: stage.ByHueSat}} {
		rows = append(rows, goldenRow{"known unit, " + cl.Name, func(seed uint64, l *ledger) {
			w := cl.Unit(seed, 1, "1", 0).Start()
			var known *solve.Prior
			for k := range 4 {
				c := cl.Unit(seed, 1, "1", k)
				w.Case.Target, w.Case.Reachable = c.Target, c.Reachable
				p := l.playOn(w, known, nil)
				p.IdleSeconds = []float64{idle, 0, 600}[k%3]
				known = &p
			}
		}})
	}
	return rows
}

// goldenBatches plays seven units of one kind that teach each other, the fifth
// from far outside the bins.
func goldenBatches() (rows []goldenRow) {
	for _, cl := range []Class{{Name: "emitters"}, {Name: "emitters, same bin", Spread: 0.3, Quiet: true}, {Name: "cct+tint", Engine: true},
		{Name: "xy", Engine: true, Mode: stage.ByXY}, {Name: "hue/sat, same bin", Engine: true, Mode: stage.ByHueSat, Spread: 0.3}} {
		rows = append(rows, goldenRow{"batch, " + cl.Name, func(seed uint64, l *ledger) {
			b, err := solve.NewBatch(cl.Unit(seed, 1, "spec", 0).Spec)
			if err != nil {
				panic(err) // the profile is the bench's own
			}
			for k := range 7 {
				c := cl
				if k == 4 {
					c.Spread = 4
				}
				one := c.Unit(seed, 1, fmt.Sprint(k), 0)
				p, err := b.Prior(one.Spec)
				if err != nil {
					panic(err)
				}
				l.posterior(*p)
				l.say(b.Learn(one.Spec, l.play(one, p, nil)))
				text, err := json.Marshal(b) // floats in their shortest exact form
				if err != nil {
					panic(err)
				}
				l.bits.Write(text)
			}
		}})
	}
	return rows
}

// goldenOddities are matches off the beaten track: levels asked for, wishes,
// limits, dimmers, scales in steps, lamps that are dead, swapped, or jump, and
// meters that say nothing.
func goldenOddities() (rows []goldenRow) {
	white, rich := Class{}, Class{Aim: Saturated}
	cct := Class{Engine: true}
	past := Class{Engine: true, Aim: Outside}
	xy := Class{Engine: true, Mode: stage.ByXY}
	hue := Class{Engine: true, Mode: stage.ByHueSat, Aim: Saturated}
	add := func(name string, cl Class, change func(*Case), wire func(*Case) func(solve.Drive) solve.Drive) {
		rows = append(rows, goldenRow{name, func(seed uint64, l *ledger) {
			for n := range goldenCases {
				c := cl.NewCase(seed, n)
				if change != nil {
					change(c)
				}
				var w func(solve.Drive) solve.Drive
				if wire != nil {
					w = wire(c)
				}
				l.play(c, nil, w)
			}
		}})
	}
	asked := func(c *Case) { c.Target.Y = 0.3 * c.Full * c.Lux }
	dimmed := func(c *Case) { withDimmer(c) }
	both := func(c *Case) { withDimmer(c); c.Target.Y, c.Target.TolY = 0.2*c.Full*c.Lux, 0.05 }
	add("level asked for, emitters", white, asked, nil)
	add("dimmer stands, emitters", white, dimmed, nil)
	add("level asked for by dimmer, emitters", rich, both, nil)
	add("level asked for by dimmer, cct+tint", cct, both, nil)
	add("most output", white, func(c *Case) { c.Options.Wish = solve.MostOutput }, nil)
	add("least moved", white, func(c *Case) { c.Options.Wish, c.Spec.Start = solve.LeastMoved, c.Found }, nil)
	add("look as found, cct+tint", cct, func(c *Case) { c.Spec.Start = c.Found }, nil)
	add("limits, emitters", white, halved, nil)
	add("limits, cct+tint", cct, halved, nil)
	add("limits, xy", xy, halved, nil)
	add("eight bit, out of gamut", Class{Bits: 8, Aim: Outside}, nil, nil)
	add("eight bit, hue/sat", Class{Engine: true, Mode: stage.ByHueSat, Bits: 8}, nil, nil)
	add("target known to 0.0003", white, func(c *Case) { c.Target.SigmaUV = 0.0003 }, nil)
	add("wide tolerance, 80 %", hue, func(c *Case) { c.Target.Tol, c.Options.Confidence = 0.003, 0.8 }, nil)
	add("tight tolerance", white, func(c *Case) { c.Target.Tol = 0.0004 }, nil)
	add("small budget", past, func(c *Case) { c.Options.Budget = 3 }, nil)
	add("slow moves", rich, func(c *Case) { c.Options.Settle = 10 * time.Second }, nil)
	add("moves cost nothing", rich, func(c *Case) { c.Options.Settle = 0 }, nil)
	add("noisy meter", white, func(c *Case) { c.Meter.SigmaUV, c.ToldSigma = 0.006, 0.006 }, nil)
	add("noisier than it says", cct, func(c *Case) { c.Meter.SigmaUV = 0.003 }, nil)
	add("response by a table", white, func(c *Case) {
		c.Spec.Curve = law.Curve{Law: law.Table, Table: []float64{0, 0.06, 0.25, 0.57, 1}}
	}, nil)
	add("no level in the feed, cct+tint", cct, func(c *Case) { c.NoLevel = true }, nil)
	add("no tint", cct, func(c *Case) { c.Spec.CCT.Tint = -1 }, nil)
	add("a scale in steps", Class{Engine: true, Aim: Saturated}, stepwise, nil)
	add("xy past the gamut", xy, func(c *Case) { c.Target.UV = colorcalc.UV{U: 0.05, V: 0.45} }, nil)
	add("hue/sat past the gamut", hue, func(c *Case) { c.Target.UV = colorcalc.UV{U: 0.02, V: 0.5} }, nil)
	dead := func(c *Case) func(solve.Drive) solve.Drive {
		return func(solve.Drive) solve.Drive { return slices.Clone(c.Found) }
	}
	add("dead, emitters", white, nil, dead)
	add("dead, cct+tint past the range", past, nil, dead)
	add("two emitters swapped", white, nil, func(*Case) func(solve.Drive) solve.Drive {
		return func(d solve.Drive) solve.Drive { d[0], d[1] = d[1], d[0]; return d }
	})
	jumps := func(part uint32) func(c *Case) func(solve.Drive) solve.Drive {
		return func(c *Case) func(solve.Drive) solve.Drive {
			return func(d solve.Drive) solve.Drive {
				if top := c.Channels[0].Max; d[0]/(top/part)%2 == 1 {
					d[0] = min(d[0]+top/12, top)
				}
				return d
			}
		}
	}
	add("jumps, xy", xy, nil, jumps(9))
	add("jumps, hue/sat", hue, nil, jumps(13))
	add("jumps, cct+tint past the range", past, nil, jumps(7))
	rows = append(rows, goldenRow{"light that drifts away", goldenDrift})
	rows = append(rows, goldenRow{"a meter that says nothing, or nonsense", goldenSilence})
	return rows
}

func withDimmer(c *Case) {
	top := c.Channels[0].Max
	c.Channels = append(slices.Clone(c.Channels), stage.Channel{Role: stage.RoleDimmer, Max: top})
	c.Spec.Dimmer = &solve.DimmerSpec{Channel: len(c.Spec.Channels), Level: law.Level{Curve: law.Curve{Law: law.Square}}}
	c.Spec.Channels = append(slices.Clone(c.Spec.Channels), solve.Channel{Name: "dimmer", Max: top, Hi: top})
	c.Found = append(slices.Clone(c.Found), top/10*7)
	c.Spec.Start = c.Found
}

func halved(c *Case) {
	ch := slices.Clone(c.Spec.Channels)
	ch[0].Hi, ch[1].Lo = ch[0].Max/2, ch[1].Max/16
	c.Spec.Channels = ch
}

func stepwise(c *Case) {
	const n = 6
	top := c.Channels[0].Max
	c.Channels = slices.Clone(c.Channels)
	for k := range uint32(n) {
		kelvin := c.Channels[0].Lo + (c.Channels[0].Hi-c.Channels[0].Lo)*float64(k)/(n-1)
		lo := k * (top / n)
		c.Spec.CCT.Scale.Steps = append(c.Spec.CCT.Scale.Steps, law.Step{Lo: lo, Hi: lo + top/n - 1, Kelvin: colorcalc.Kelvin(kelvin)})
		c.Channels[0].Steps = append(c.Channels[0].Steps, stage.Step{From: lo, Value: kelvin})
	}
}

func goldenSilence(seed uint64, l *ledger) {
	for k, cl := range []Class{{}, {Engine: true}} {
		for _, r := range []solve.Reading{{}, {UV: colorcalc.UV{U: 0.2, V: 0.47}, HasY: true}, {UV: colorcalc.UV{U: 0.5, V: 0.1}, Y: 1e6, HasY: true}} {
			c := cl.NewCase(seed, k)
			m, err := solve.New(c.Spec, c.Target, nil, c.Options)
			if err != nil {
				panic(err)
			}
			h := &listener{Match: m, l: l}
			for n := range 30 {
				if h.Next(time.Duration(n)*time.Second).Action == solve.Done {
					break
				}
				if n%2 == 1 {
					h.Observe(r)
				}
			}
		}
	}
}

// goldenDrift is light that leaves for the red end, a little with each reading.
func goldenDrift(seed uint64, l *ledger) {
	for k, cl := range []Class{{}, {Engine: true}} {
		c := cl.NewCase(seed, k)
		m, err := solve.New(c.Spec, c.Target, nil, c.Options)
		if err != nil {
			panic(err)
		}
		h := &listener{Match: m, l: l}
		for n := range 60 {
			at := time.Duration(n) * time.Second
			if h.Next(at).Action == solve.Done {
				break
			}
			uv := c.Target.UV
			uv.U += 0.0005 * float64(n)
			h.Observe(solve.Reading{UV: uv, Y: 100, HasY: true, At: at, Drive: slices.Clone(h.last)})
		}
	}
}
