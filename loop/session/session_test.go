package session

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// fakeStage stands for the governor's door, the lamps and the meter: three
// lamps of three emitters each with a linear law, additive, and a fixed one.
type fakeStage struct {
	mu      sync.Mutex
	rng     *rand.Rand
	lamps   [][3]colorcalc.XYZ // full light of each emitter at the mark
	codes   [][]uint32
	ambient colorcalc.XYZ
	fixed   colorcalc.XYZ // seen by probe "ref"
	sigma   float64
	alive   int
	reads   int
	dieAt   int // reading after which the meter is gone; 0: never
	onRead  func(n int)
	odd     func(n int) bool // the meter has no figures for this reading, whatever it is of; nil: it has for all
	badHead int              // head whose light never comes; -1: none
	dim     float64          // what comes through to the meter; 0 is all
	whites  bool             // the meter tells colour temperature and Duv alone
	found   solve.Drive      // how the desk has every lamp; nil: there is none
}

func (f *fakeStage) Wish(head int, codes []uint32) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.codes[head] = slices.Clone(codes)
	return nil
}

func (f *fakeStage) WaitArrived(ctx context.Context, head int) (time.Time, error) {
	select {
	case <-time.After(800 * time.Millisecond): // a ramp
		return time.Now(), nil
	case <-ctx.Done():
		return time.Time{}, ctx.Err()
	}
}

func (f *fakeStage) Sent(head int) []uint32 { f.mu.Lock(); defer f.mu.Unlock(); return f.codes[head] }
func (f *fakeStage) Alive()                 { f.mu.Lock(); f.alive++; f.mu.Unlock() }

func (f *fakeStage) light(head int) colorcalc.XYZ {
	var sum colorcalc.XYZ
	if head == f.badHead {
		return sum
	}
	for i, c := range f.codes[head] {
		sum = sum.Add(f.lamps[head][i].Scale(float64(c) / 65535))
	}
	return sum
}

func (f *fakeStage) ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	for {
		r, err := f.ReadAnyAfter(ctx, probe, settled)
		if err != nil || !r.Flags.Has(feed.NotWhite) {
			return r, err
		}
	}
}

func (f *fakeStage) ReadAnyAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	const window = 200 * time.Millisecond
	if d := time.Until(settled); d > 0 {
		time.Sleep(d) // virtual
	}
	select {
	case <-time.After(window):
	case <-ctx.Done():
		return feed.Reading{}, ctx.Err()
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.reads++
	if f.onRead != nil {
		f.onRead(f.reads)
	}
	if f.dieAt > 0 && f.reads > f.dieAt {
		f.mu.Unlock()
		<-ctx.Done()
		f.mu.Lock()
		return feed.Reading{}, ctx.Err()
	}
	light := f.fixed
	if probe == "mark" {
		light = f.ambient
		for h := range f.lamps {
			light = light.Add(f.light(h))
		}
	}
	if f.dim > 0 {
		light = light.Scale(f.dim)
	}
	uv := light.UV()
	uv.U += f.sigma * f.rng.NormFloat64()
	uv.V += f.sigma * f.rng.NormFloat64()
	if _, duv, err := colorcalc.CCT(uv.XY()); f.odd != nil && f.odd(f.reads) || f.whites && (err != nil || max(duv, -duv) > colorcalc.MaxDuv) {
		return feed.Reading{Probe: probe, Time: time.Now(), Integration: window, Flags: feed.NotWhite}, nil
	}
	return feed.Reading{UV: uv, Y: light.Y, HasY: true, Probe: probe, Time: time.Now(), Integration: window, Seq: uint64(f.reads), HasSeq: true}, nil
}

func (f *fakeStage) ReadDarkAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	return f.ReadAfter(ctx, probe, settled)
}

// nominal emitters of the fake profile: red, green, blue in CIE 1976.
var nominalUV = [3]colorcalc.UV{{U: 0.50, V: 0.52}, {U: 0.08, V: 0.57}, {U: 0.17, V: 0.13}}
var nominalFlux = [3]float64{120, 260, 40}

func newFakeStage(seed uint64) *fakeStage {
	f := &fakeStage{rng: rand.New(rand.NewPCG(seed, 5)), sigma: 0.0003, badHead: -1,
		ambient: colorcalc.XY{X: 0.40, Y: 0.39}.XYZ(1.5), fixed: colorcalc.XY{X: 0.3690, Y: 0.3600}.XYZ(300)}
	for range 3 {
		var l [3]colorcalc.XYZ
		for i, uv := range nominalUV {
			uv.U += 0.004 * f.rng.NormFloat64()
			uv.V += 0.004 * f.rng.NormFloat64()
			l[i] = uv.XYZ(nominalFlux[i] * (1 + 0.08*f.rng.NormFloat64()))
		}
		f.lamps = append(f.lamps, l)
		f.codes = append(f.codes, []uint32{0, 0, 0})
	}
	return f
}

func fakeUnits() []*Unit {
	units := []*Unit{{Unit: core.Unit{Info: FixtureInfo{Name: "window", Fixed: true, Probe: "ref"}, Head: -1}}}
	for i, name := range []string{"wash a", "wash b", "wash c"} {
		s := solve.Spec{Name: name, Kind: solve.Emitters, Curve: law.Curve{Law: law.Linear}}
		for k, uv := range nominalUV {
			n := []string{"red", "green", "blue"}[k]
			s.Channels = append(s.Channels, solve.Channel{Name: n, Max: 65535, Hi: 65535})
			s.Emitters = append(s.Emitters, solve.Emitter{Name: n, UV: uv, Flux: nominalFlux[k]})
		}
		units = append(units, &Unit{Unit: core.Unit{Info: FixtureInfo{Name: name, Probe: "mark", Parameters: []string{"red", "green", "blue"}},
			Head: i, Spec: s, Level: 0.4, Headroom: 1.5, Rest: solve.Drive{0, 0, 0}, Settle: 100 * time.Millisecond,
			Dark: []core.AxisCode{{Axis: 0}, {Axis: 1}, {Axis: 2}}},
			Settings: func(d solve.Drive) []Setting { return []Setting{{Name: "red", Value: float64(d[0])}} },
			Slots:    func(solve.Drive) []SlotValue { return nil }})
	}
	return units
}

// run runs a session in virtual time and returns the journal's summary.
func runFake(t *testing.T, f *fakeStage, ctx func(context.Context) context.Context) (*Summary, []Entry, error) {
	t.Helper()
	return runFakePlan(t, f, ctx, func(*Plan) {})
}

func runFakePlan(t *testing.T, f *fakeStage, ctx func(context.Context) context.Context, change func(*Plan)) (*Summary, []Entry, error) {
	t.Helper()
	var sum *Summary
	var entries []Entry
	var runErr error
	synctest.Test(t, func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "journal.jsonl")
		j, err := CreateJournal(path, time.Now, nil)
		if err != nil {
			t.Fatal(err)
		}
		units := fakeUnits()
		cfg := core.Config{Work: core.Match, Plan: core.DefaultPlan()}
		for _, u := range units {
			if u.Head >= 0 {
				u.Found = f.found
			}
			cfg.Units = append(cfg.Units, u.Unit)
		}
		cfg.Plan.Target.Reference = "window"
		change(&cfg.Plan)
		info := &RunInfo{Version: core.JournalVersion, Rig: "fake", Tolerance: 0.001, Core: &cfg}
		for _, u := range units {
			info.Fixtures = append(info.Fixtures, u.Info)
		}
		if err := j.Append(Entry{Kind: core.KindRun, Run: info}); err != nil {
			t.Fatal(err)
		}
		machine, err := core.New(cfg)
		if err != nil {
			t.Fatal(err)
		}
		c := context.Background()
		if ctx != nil {
			c = ctx(c)
		}
		runErr = newShell(machine, units, f, f, j, cfg.Plan.ReadTimeout, nil).run(c)
		if err := j.Close(); err != nil {
			t.Error(err)
		}
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if entries, _, err = ReadJournal(bytes.NewReader(text)); err != nil {
			t.Fatal(err)
		}
		if sum, err = Summarise(entries); err != nil {
			t.Fatal(err)
		}
		if _, err := core.Replay(entries); err != nil {
			t.Errorf("the run can not be played again: %v", err)
		}
	})
	return sum, entries, runErr
}

// Every lamp of a small rig truly stands within one and a half tolerances of
// the reference at the end, in the plant's own noise-free light.
func TestSessionLandsARigTruly(t *testing.T) {
	for seed := range uint64(5) {
		f := newFakeStage(seed)
		sum, _, err := runFake(t, f, nil)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if !sum.Complete || sum.Stop != "" {
			t.Errorf("seed %d: complete %v, stop %q", seed, sum.Complete, sum.Stop)
		}
		for i, fx := range sum.Fixtures[1:] {
			o := fx.Final()
			if !o.Landed() {
				t.Errorf("seed %d, %s: %+v", seed, fx.Name, o)
				continue
			}
			copy(f.codes[i], o.After.Codes)
			if d := f.light(i).UV().Dist(f.fixed.UV()); d > 0.0015 {
				t.Errorf("seed %d, %s: called landed, truly %.4f off", seed, fx.Name, d)
			}
		}
	}
}

// Nothing is sent that the journal does not hold already: before every change
// of codes there is a step entry with exactly those codes.
func TestEveryStepIsInTheJournalBeforeItIsSent(t *testing.T) {
	f := newFakeStage(1)
	_, entries, err := runFake(t, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	steps := 0
	var last *Step
	for _, e := range entries {
		switch e.Kind {
		case core.KindStep:
			last = e.Step
		case core.KindSent:
			steps++
			if last == nil || !slices.Equal(last.Codes, e.Step.Codes) {
				t.Fatalf("entry %d: sent %v without that step before it", e.Seq, e.Step.Codes)
			}
		}
	}
	if steps < 6 {
		t.Errorf("only %d steps: the test has lost what it watches", steps)
	}
}

func TestAMeterThatDiesEndsTheRunWithItsReason(t *testing.T) {
	f := newFakeStage(2)
	f.dieAt = 16 // the first of a fixture: there are ten of the reference and five of the background before it
	sum, _, err := runFake(t, f, nil)
	if err == nil || !strings.Contains(err.Error(), "no usable reading") {
		t.Fatalf("got %v", err)
	}
	if sum.Complete || sum.Stop == "" {
		t.Errorf("complete %v, stop %q", sum.Complete, sum.Stop)
	}
	held := 0
	for _, fx := range sum.Fixtures {
		if o := fx.Final(); o != nil && o.Result == solve.Held {
			held++
		}
	}
	if held != 1 {
		t.Errorf("%d fixtures held, want the one that was being matched", held)
	}
}

func TestAPersonsStopIsRecordedAsOne(t *testing.T) {
	f := newFakeStage(3)
	sum, _, err := runFake(t, f, func(ctx context.Context) context.Context {
		ctx, cancel := context.WithCancelCause(ctx)
		f.onRead = func(n int) {
			if n == 17 {
				cancel(errors.New("stopped by Ctrl-C"))
			}
		}
		return ctx
	})
	if !errors.Is(err, ErrStopped) || strings.Count(err.Error(), "stopped") != 1 {
		t.Fatalf("got %v", err)
	}
	if sum.Stop != "stopped by Ctrl-C" {
		t.Errorf("stop %q", sum.Stop)
	}
}

// A lamp that gives no light is held with its likely causes; the others land.
func TestADeadLampDoesNotEndTheRun(t *testing.T) {
	f := newFakeStage(4)
	f.badHead = 1
	sum, _, err := runFake(t, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"landed", "held", "landed"} {
		o := sum.Fixtures[i+1].Final()
		if o == nil || o.Result.String() != want {
			t.Errorf("%s: %+v, want %s", sum.Fixtures[i+1].Name, o, want)
		}
	}
	if o := sum.Fixtures[2].Outcome; o != nil && !strings.Contains(o.Reason, "patch") {
		t.Errorf("reason %q names no cause", o.Reason)
	}
}

// A run goes on for minutes and never lets the watchdog wait.
func TestASessionShowsLife(t *testing.T) {
	f := newFakeStage(1)
	if _, _, err := runFake(t, f, nil); err != nil {
		t.Fatal(err)
	}
	if f.alive < f.reads {
		t.Errorf("%d signs of life for %d readings", f.alive, f.reads)
	}
}

// Asked for equal levels, three lamps of different flux end at one level as
// well as at one colour, in the plant's own light.
func TestEqualLevelsAtTheProbe(t *testing.T) {
	for seed := range uint64(4) {
		f := newFakeStage(seed)
		for i := range f.lamps[1] {
			f.lamps[1][i] = f.lamps[1][i].Scale(0.7) // an old lamp
		}
		sum, _, err := runFakePlan(t, f, nil, func(p *Plan) { p.Common = core.CommonEqual })
		if err != nil {
			t.Fatal(err)
		}
		var lux []float64
		for i, fx := range sum.Fixtures[1:] {
			o := fx.Final()
			if !o.Landed() {
				t.Fatalf("seed %d, %s: %+v", seed, fx.Name, o)
			}
			copy(f.codes[i], o.After.Codes)
			lux = append(lux, f.light(i).Y)
			if d := f.light(i).UV().Dist(f.fixed.UV()); d > 0.0015 {
				t.Errorf("seed %d, %s: truly %.4f off", seed, fx.Name, d)
			}
		}
		if lo, hi := slices.Min(lux), slices.Max(lux); hi/lo > 1.06 {
			t.Errorf("seed %d: levels %.1f lux", seed, lux)
		}
	}
}

// A warm-up lights every lamp before the first is read, and shows life.
func TestAWarmUpComesBeforeTheFirstReading(t *testing.T) {
	f := newFakeStage(2)
	lit := 0 // at the most, while something is read
	f.onRead = func(int) {
		n := 0
		for h := range f.lamps {
			if f.light(h).Y > 0 {
				n++
			}
		}
		lit = max(lit, n)
	}
	_, entries, err := runFakePlan(t, f, nil, func(p *Plan) { p.WarmUp = 2 * time.Minute })
	if err != nil {
		t.Fatal(err)
	}
	var warm, found time.Time
	for _, e := range entries {
		if e.Step != nil && e.Step.Action == "warm up" {
			warm = e.Time
		}
		if e.Kind == core.KindFound && found.IsZero() {
			found = e.Time
		}
	}
	if d := found.Sub(warm); d < 2*time.Minute {
		t.Errorf("the first lamp was read %v after the warm-up began", d)
	}
	if lit != 1 {
		t.Errorf("%d lamps are lit while one is read", lit)
	}
}

// A lamp somebody switches on in mid-run is noticed at the end, and said with
// what it may have done.
func TestADriftingBackgroundIsSaid(t *testing.T) {
	f := newFakeStage(6)
	f.onRead = func(n int) {
		if n == 22 {
			f.ambient = f.ambient.Add(colorcalc.XY{X: 0.45, Y: 0.41}.XYZ(6))
		}
	}
	sum, _, err := runFake(t, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(sum.Notes) != 1 || !strings.Contains(sum.Notes[0], "from 1.50 to 7.") {
		t.Errorf("notes %q", sum.Notes)
	}
	still, _, err := runFake(t, newFakeStage(6), nil)
	if err != nil || len(still.Notes) != 0 {
		t.Errorf("a still background is said to drift: %q %v", still.Notes, err)
	}
}

// A meter that tells colour temperature and Duv alone has no figures for the red that the desk has the lamps at: the match does not wait there,
// says so, and lands them; no other reading is called how they stood.
func TestALampFoundAtAColourBeforeAMeterOfWhites(t *testing.T) {
	f := newFakeStage(3)
	f.whites, f.found = true, solve.Drive{60000, 0, 0}
	sum, entries, err := runFake(t, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	said := 0
	for _, e := range entries {
		if e.Kind == core.KindPause {
			t.Fatal(e.Note)
		}
		if e.Kind == core.KindAside && strings.Contains(e.Note, "as found: a colour and not a white") {
			said++
		}
	}
	if said != 2*len(f.lamps) {
		t.Errorf("said %d times, want twice of each of %d", said, len(f.lamps))
	}
	for _, fx := range sum.Fixtures[1:] {
		if o := fx.Final(); !o.Landed() || o.Found != nil {
			t.Errorf("%s: %+v", fx.Name, o)
		}
	}
}

// A lamp that gives no white at all before such a meter is given up, and why; the others land.
func TestALampThatIsNoWhiteIsNamed(t *testing.T) {
	f := newFakeStage(4)
	f.whites = true
	f.lamps[1][1], f.lamps[1][2] = colorcalc.XYZ{}, colorcalc.XYZ{} // red alone
	sum, _, err := runFake(t, f, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, fx := range sum.Fixtures[1:] {
		o := fx.Final()
		if i == 1 && (o.Result != solve.Held || !strings.Contains(o.Reason, "a colour and not a white") || !strings.Contains(o.Reason, "4 times in a row")) || i != 1 && !o.Landed() {
			t.Errorf("%s: %v, %s", fx.Name, o.Result, o.Reason)
		}
	}
}

// Nonsense that such a meter sends for a moment, two readings at a time, costs no lamp its match.
func TestAMomentOfNonsenseGivesNoLampUp(t *testing.T) {
	for seed := range uint64(5) {
		f := newFakeStage(seed + 11)
		f.odd = func(n int) bool { return n > 15 && (n+int(seed))%9 < 2 }
		sum, entries, err := runFake(t, f, nil)
		if err != nil {
			t.Fatal(err)
		}
		if said := slices.ContainsFunc(entries, func(e Entry) bool { return strings.Contains(e.Note, "a colour and not a white") }); !said {
			t.Errorf("seed %d: it is not said", seed)
		}
		for _, fx := range sum.Fixtures[1:] {
			if o := fx.Final(); !o.Landed() {
				t.Errorf("seed %d: %s: %v, %s", seed, fx.Name, o.Result, o.Reason)
			}
		}
	}
}

// A person who reads such a meter says that it shows no figures, and the match goes on.
func TestAPersonReadsALampFoundAtAColour(t *testing.T) {
	f := newFakeStage(5)
	f.whites, f.found = true, solve.Drive{60000, 0, 0}
	sum, _, err := runFakePlan(t, f, nil, func(p *Plan) { *p = Patient(*p) })
	if err != nil {
		t.Fatal(err)
	}
	for _, fx := range sum.Fixtures[1:] {
		if o := fx.Final(); !o.Landed() || o.Found != nil {
			t.Errorf("%s: %+v", fx.Name, o)
		}
	}
}
