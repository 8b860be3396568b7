package session_test

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"trueup/colorcalc"
	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// quickRig is matched in a few seconds of real time: two washes on one probe, a lamp that
// cannot be changed on another, fast limits.
const quickRig = `rig: quick
output: {mode: own, unicast: ["%s"]}
feeds:
  - {name: meter, kind: tcp, address: "%s"}
safety: {rise: 100 %%/s, fall: 100 %%/s, level_cap: 50 %%}
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: mark}
  - {name: cob, profile: %[3]s/wiffelmoor-wash-8.yaml, address: 1/101, probe: mark}
`

// trueLimit is how far off a lamp may truly be that is said to be within 0.0010: some of a hundred are a little
// outside, by the 95 % of the claim, and none by so much.
const trueLimit = 0.0020

// hall is a simulated stage in this process, behind real sockets on 127.0.0.1.
type hall struct {
	t      testing.TB
	stop   func()
	server *stage.Server
	path   string // of the rig that is pointed at it
	out    string
}

func newHall(t testing.TB, text string) *hall {
	t.Helper()
	dir := t.TempDir()
	profiles, err := filepath.Abs("../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	h := &hall{t: t, path: filepath.Join(dir, "rig.yaml"), out: filepath.Join(dir, "out")}
	write := func(levels, meter string) *rig.Rig {
		if err := os.WriteFile(h.path, fmt.Appendf(nil, text, levels, meter, filepath.ToSlash(profiles)), 0o644); err != nil {
			t.Fatal(err)
		}
		r, err := rig.Load(h.path)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	f, err := stage.ParseFile("stage.yaml", []byte("seed: 7\nmeter: {integration_ms: 60, period_ms: 80}\n"))
	if err != nil {
		t.Fatal(err)
	}
	lamps, err := stage.Build(write("127.0.0.1:1", "127.0.0.1:1"), f)
	if err != nil {
		t.Fatal(err)
	}
	any := netip.MustParseAddrPort("127.0.0.1:0")
	if h.server, err = stage.Listen(lamps, stage.ServeConfig{SACN: any, Meter: "127.0.0.1:0", Truth: "127.0.0.1:0", Log: zerolog.Nop()}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); h.server.Run(ctx) }()
	h.stop = func() { cancel(); <-done }
	t.Cleanup(h.stop)
	write(h.server.SACN().String(), h.server.Meter())
	return h
}

// job is a run of the hall's rig.
func (h *hall) job(work core.Work) session.Job {
	h.t.Helper()
	r, err := rig.Load(h.path)
	if err != nil {
		h.t.Fatal(err)
	}
	j := session.Job{Program: "test", Rig: r, Work: work, OutRoot: h.out, CID: sacn.CID{7}, Log: zerolog.Nop()}
	if j.Plan, err = session.PlanFor(r); err != nil {
		h.t.Fatal(err)
	}
	if j.Compiled, err = session.Compile(r); err != nil {
		h.t.Fatal(err)
	}
	return j
}

// listenFor notes where a lamp truly stands while it is judged.
func (h *hall) listenFor(truth map[string]colorcalc.UV) func(session.Entry) {
	return func(e session.Entry) {
		if e.Kind != core.KindReference && e.Kind != core.KindVerify {
			return
		}
		all, err := stage.AskTruth(context.Background(), h.server.Truth())
		if err != nil {
			h.t.Error(err)
		}
		for _, l := range all {
			if l.Fixture == e.Fixture {
				truth[e.Fixture] = colorcalc.XY{X: l.X, Y: l.Y}.UV()
			}
		}
	}
}

// run opens and works a job; do is called when it is armed, beside the run.
func (h *hall) run(ctx context.Context, j session.Job, do func(*session.Run)) (*session.Result, error) {
	h.t.Helper()
	r, err := session.Open(ctx, j)
	if err != nil {
		h.t.Fatal(err)
	}
	if do != nil {
		go do(r)
	}
	return r.Work(ctx)
}

// replayed fails unless the run's journal plays again.
func replayed(t testing.TB, dir string) []session.Entry {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "journal.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	entries, torn, err := session.ReadJournal(f)
	if err != nil || torn {
		t.Fatal(torn, err)
	}
	if _, err := core.Replay(entries); err != nil {
		t.Errorf("it can not be played again: %v", err)
	}
	return entries
}

// A rig is matched, verified, surveyed and probed by one and the same Run; the lamps truly
// stand where it says, and each journal plays again.
func TestOneRunDoesEveryKindOfWork(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds of real time")
	}
	t.Parallel()
	h := newHall(t, quickRig)
	truth := map[string]colorcalc.UV{}
	j := h.job(core.Match)
	j.Listen = h.listenFor(truth)
	j.WriteUp = func(string, *session.Summary) error { return errors.New("no room for the report") }
	matched, err := h.run(t.Context(), j, nil)
	if err == nil || !strings.Contains(err.Error(), "no room for the report") {
		t.Errorf("a report that can not be written is not said: %v", err)
	}
	landed := 0
	for _, f := range matched.Summary.Fixtures[1:] {
		o := f.Final()
		if o == nil || o.Readings < 2 || o.Landed() && truth[f.Name].Dist(truth["lamp"]) > trueLimit {
			t.Errorf("%s: %+v, truly %.4f off", f.Name, o, truth[f.Name].Dist(truth["lamp"]))
		}
		if o.Landed() {
			landed++
		}
	}
	if landed == 0 {
		t.Error("neither lamp has landed")
	}
	replayed(t, matched.Dir)
	if dir, err := session.NewestRun(h.out, "quick"); err != nil || dir != matched.Dir {
		t.Errorf("newest run: %q %v", dir, err)
	}

	j = h.job(core.Verify)
	j.Previous, j.Listen = matched.Summary, h.listenFor(truth)
	res, err := h.run(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	// How often it is right, rigtest asks in virtual time. Here: every lamp has a verdict, by two readings at
	// the least, that says what its result does; what is said to stand or to have drifted truly does.
	for _, f := range res.Summary.Fixtures[1:] {
		o, off := f.Final(), truth[f.Name].Dist(truth["lamp"])
		if o == nil || o.Verdict == "" || o.Readings < 2 || o.Landed() && o.Verdict != core.Stands || o.Verdict == core.Drifted && o.Result != solve.Unsettled {
			t.Errorf("verified: %s: %+v", f.Name, o)
		}
		if o.Landed() && off > trueLimit || o.Verdict == core.Drifted && off < 0.0005 {
			t.Errorf("verified: %s, truly %.4f off: %+v", f.Name, off, o)
		}
	}
	replayed(t, res.Dir)

	if res, err = h.run(t.Context(), h.job(core.Survey), nil); err != nil {
		t.Fatal(err)
	}
	for _, f := range res.Summary.Fixtures[1:] {
		if f.Found == nil || f.Outcome != nil || !(f.Found.Delta > 0) {
			t.Errorf("surveyed: %s: found %+v, outcome %+v", f.Name, f.Found, f.Outcome)
		}
	}
	replayed(t, res.Dir)

	probeOneEmitter(t, h)
}

// probeOneEmitter reads a wash with every emitter dark, then with its first one lit.
func probeOneEmitter(t *testing.T, h *hall) {
	t.Helper()
	j := h.job(core.Probe)
	wash := j.Compiled.Units[1]
	dark, red := wash.Darkened(wash.Lit), wash.Darkened(wash.Lit)
	for i := range dark[:4] {
		dark[i], red[i] = 0, 0
	}
	dark[4], red[4] = wash.Lit[4], wash.Lit[4]
	red[0] = 30000
	j.Probe = &core.ProbePlan{Fixture: "wash", Base: dark, Levels: []solve.Drive{red}, Readings: 2}
	res, err := h.run(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	var light []float64
	for _, e := range replayed(t, res.Dir) {
		if e.Kind == core.KindReading {
			light = append(light, e.Reading.RawLux)
		}
	}
	if len(light) != 4 || light[0] > light[2]/5 || light[1] > light[3]/5 {
		t.Errorf("probed: %.2f lux, want two dark and two lit", light)
	}
}

// A rehearsal sends nothing, reads nothing and leaves no files.
func TestARehearsalLeavesNothing(t *testing.T) {
	t.Parallel()
	h := newHall(t, quickRig)
	j := h.job(core.Rehearse)
	j.Silent, j.OutRoot = true, ""
	j.Plan.Target = core.Target{Text: "white", UV: colorcalc.XY{X: 0.36, Y: 0.36}.UV()}
	var mu sync.Mutex
	sent := 0
	j.Listen = func(e session.Entry) {
		mu.Lock()
		defer mu.Unlock()
		if e.Kind == core.KindSent && len(e.Step.Settings) > 0 && len(e.Step.Slots) > 0 {
			sent++
		}
	}
	res, err := h.run(t.Context(), j, nil)
	if err != nil || res.Dir != "" || sent != 2 {
		t.Errorf("%v, folder %q, %d of 2 settings shown", err, res.Dir, sent)
	}
	if _, err := os.Stat(h.out); !os.IsNotExist(err) {
		t.Errorf("files were left: %v", err)
	}
	all, err := stage.AskTruth(t.Context(), h.server.Truth())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range all {
		if l.Fixture != "lamp" && l.Lux > 0.5 {
			t.Errorf("%s gives %.1f lux", l.Fixture, l.Lux)
		}
	}
}

// What a person does to a run in between: hold it, let it go on, skip a lamp, stop it,
// and leave at once. The lamps are handed back, and the journal says what happened.
func TestAPersonHoldsSkipsStopsAndLeaves(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds of real time")
	}
	for name, c := range map[string]struct {
		at      core.Kind // the entry at which the person acts
		do      func(r *session.Run, cancel func()) (left string)
		held    bool // the wash
		stopped bool
		left    string // what is said to have been skipped
	}{
		"hold and go on": {core.KindFound, func(r *session.Run, _ func()) string {
			r.Hold(context.Background())
			time.Sleep(700 * time.Millisecond) // of a real run
			r.GoOn(context.Background())
			return ""
		}, false, false, ""},
		"skip":                              {core.KindFound, func(r *session.Run, _ func()) string { return r.Skip(context.Background()) }, true, false, "wash"},
		"skip while the background is read": {core.KindRun, func(r *session.Run, _ func()) string { return r.Skip(context.Background()) }, false, false, ""},
		"stop":                              {core.KindFound, func(_ *session.Run, cancel func()) string { cancel(); return "" }, true, true, ""},
		"leave":                             {core.KindFound, func(r *session.Run, cancel func()) string { cancel(); r.Leave(); return "" }, true, true, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h := newHall(t, quickRig)
			j := h.job(core.Match)
			j.Plan.SecondVisit = false
			ctx, cancel := context.WithCancelCause(context.Background())
			defer cancel(nil)
			var run *session.Run
			armed, left := make(chan struct{}), make(chan string, 1)
			var once sync.Once
			j.Listen = func(e session.Entry) {
				if e.Kind == c.at && (e.Fixture == "wash" || c.at == core.KindRun) {
					once.Do(func() {
						go func() { <-armed; left <- c.do(run, func() { cancel(errors.New("enough for today")) }) }()
					})
				}
			}
			var err error
			if run, err = session.Open(ctx, j); err != nil {
				t.Fatal(err)
			}
			if got := run.Skip(context.Background()); got != "" {
				t.Errorf("%q is said to have been skipped before the run begins", got)
			}
			close(armed)
			res, err := run.Work(ctx)
			if c.stopped != errors.Is(err, session.ErrStopped) || !c.stopped && err != nil {
				t.Errorf("error %v", err)
			}
			if got := <-left; got != c.left {
				t.Errorf("%q is said to have been skipped, want %q", got, c.left)
			}
			// Whether a lamp lands is asked in virtual time; here it went through to a verdict, or was held.
			if o := res.Summary.Fixtures[1].Final(); o == nil || (o.Result == solve.Held) != c.held || !c.held && o.Readings < 2 {
				t.Errorf("wash: %+v, held %v", o, c.held)
			}
			if c.stopped && res.Summary.Stop != "enough for today" {
				t.Errorf("the journal says %q", res.Summary.Stop)
			}
			replayed(t, res.Dir)
		})
	}
}

// A meter that dies in mid-run ends it gently, with what the feed was doing; what was
// measured until then is written up.
func TestAMeterThatDiesIsSaid(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds of real time")
	}
	t.Parallel()
	h := newHall(t, quickRig)
	j := h.job(core.Match)
	j.Plan.ReadTimeout, j.Plan.SilenceLimit = 10*time.Second, time.Second // instead of half an hour
	j.Plan.Common, j.Plan.Lux = core.CommonLux, 100
	var once sync.Once
	j.Listen = func(e session.Entry) {
		if e.Kind == core.KindFound && e.Fixture == "wash" {
			once.Do(func() { go h.stop() })
		}
	}
	wrote := 0
	j.WriteUp = func(dir string, s *session.Summary) error { wrote++; return nil }
	j.Say = func(text string) {
		t.Errorf("said %q where nothing is listened for", text)
	}
	run, err := session.Open(t.Context(), j)
	if err != nil {
		t.Fatal(err)
	}
	res, err := run.Work(t.Context())
	if err == nil || !strings.Contains(err.Error(), "no usable reading of probe \"mark\"") || !strings.Contains(err.Error(), "feed meter") {
		t.Errorf("got %v", err)
	}
	if wrote != 2 || res.Dir != run.Dir() || res.Summary.Stop == "" {
		t.Errorf("written up %d times, %q, stop %q", wrote, res.Dir, res.Summary.Stop)
	}
	replayed(t, res.Dir)
}

// A start that is refused says why, moves nothing and leaves nothing.
func TestARefusedStartLeavesNothing(t *testing.T) {
	t.Parallel()
	h := newHall(t, quickRig)
	for want, spoil := range map[string]func(j *session.Job){
		"no fixture of the rig": func(j *session.Job) { j.Plan.Target.Reference = "nobody" },
		"no kind of run":        func(j *session.Job) { j.Work = "dance" },
		"nothing is said":       func(j *session.Job) { j.Work = core.Probe },
		"no feed":               func(j *session.Job) { j.Rig.Feeds = nil },
	} {
		j := h.job(core.Match)
		spoil(&j)
		if _, err := session.Open(t.Context(), j); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	if left, _ := os.ReadDir(h.out); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Two runs do not drive the same lamps: the second is refused, and the first goes on.
func TestASecondRunOfTheSameLampsIsRefused(t *testing.T) {
	t.Parallel()
	h := newHall(t, quickRig)
	first, err := session.Open(t.Context(), h.job(core.Match))
	if err != nil {
		t.Fatal(err)
	}
	second := h.job(core.Match)
	second.OutRoot = filepath.Join(t.TempDir(), "second")
	if _, err := session.Open(t.Context(), second); !errors.Is(err, session.ErrOtherRun) || !strings.Contains(err.Error(), `rig "quick"`) {
		t.Errorf("got %v", err)
	}
	if left, _ := os.ReadDir(second.OutRoot); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	ctx, cancel := context.WithCancelCause(t.Context())
	cancel(errors.New("enough for today"))
	if _, err := first.Work(ctx); !errors.Is(err, session.ErrStopped) {
		t.Errorf("got %v", err)
	}
	third, err := session.Open(t.Context(), second)
	if err != nil {
		t.Fatalf("the lamps are not given free: %v", err)
	}
	third.Work(ctx)
}

// A person who changes their mind before a lamp has moved leaves nothing behind; nor does
// a meter that never answers, which is said with what its feed is doing.
func TestAStartThatIsCalledOff(t *testing.T) {
	t.Parallel()
	h := newHall(t, quickRig)
	dead := h.job(core.Match)
	for i := range dead.Rig.Feeds {
		dead.Rig.Feeds[i].Address = "127.0.0.1:1" // nobody listens there
	}
	noFolder := h.job(core.Match)
	noFolder.OutRoot = ""
	badFolder := h.job(core.Match)
	badFolder.OutRoot = h.path
	for _, c := range []struct {
		want string
		job  session.Job
		call bool // it off, while the levels found are being sent
	}{
		{"before any light was moved", h.job(core.Match), true},
		{"no reading of probe", dead, false},
		{"output folder", badFolder, false},
		{"changed my mind before any", noFolder, true},
	} {
		ctx, cancel := context.WithCancelCause(t.Context())
		if c.call {
			c.job.Rig.Output.Unicast = onFirst(t, func() { cancel(errors.New("changed my mind")) })
		}
		want := c.want
		_, err := session.Open(ctx, c.job)
		cancel(nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	if left, _ := os.ReadDir(h.out); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	all, err := stage.AskTruth(t.Context(), h.server.Truth())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range all {
		if l.Fixture != "lamp" && l.Lux > 0.5 {
			t.Errorf("%s gives %.1f lux", l.Fixture, l.Lux)
		}
	}
}

// onFirst is an address that calls do when the first packet comes by.
func onFirst(t *testing.T, do func()) []netip.AddrPort {
	t.Helper()
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	go func() {
		var buf [2048]byte
		if _, err := c.Read(buf[:]); err == nil {
			do()
		}
	}()
	return []netip.AddrPort{c.LocalAddr().(*net.UDPAddr).AddrPort()}
}

// A target that is no colour of light is refused with its place in the rig file.
func TestATargetThatIsNoColour(t *testing.T) {
	for _, color := range []string{"ten elephants", ""} {
		r := &rig.Rig{Path: "rig.yaml", Target: rig.Target{Color: color, Pos: rig.Pos{Line: 4, Col: 9}}}
		if _, err := session.PlanFor(r); err == nil || !strings.Contains(err.Error(), "rig.yaml:4:9: target color") {
			t.Errorf("%q: %v", color, err)
		}
	}
}

// By hand: the person dials what they are told and reads the meter aloud; a value that
// was wrong is taken back, and a closed terminal ends the run as stopped.
func TestARunByHand(t *testing.T) {
	t.Parallel()
	const text = `rig: call
feeds:
  - {name: meter, kind: hand}
target: {color: "4300 K"}
fixtures:
  - name: fill
    profile: %[3]s/rushwimble-knob-panel.yaml
    mode: knobs
    by_hand: true
`
	dir := t.TempDir()
	abs, _ := filepath.Abs("../../examples/profiles")
	path := filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(path, []byte(strings.ReplaceAll(text, "%[3]s", filepath.ToSlash(abs))), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, undone := range []bool{false, true} {
		r, err := rig.Load(path)
		if err != nil {
			t.Fatal(err)
		}
		units, err := session.CompileByHand(r)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := session.PlanFor(r)
		if err != nil {
			t.Fatal(err)
		}
		plan.SecondVisit = false
		if !session.ReadByHand(r) {
			t.Error("nobody reads the meter by hand")
		}
		dialled, asked := 0, 0
		j := session.Job{Program: "test", Rig: r, Compiled: &session.Compiled{Units: units}, Work: core.ByHand, Plan: plan, OutRoot: filepath.Join(dir, "out"), Log: zerolog.Nop()}
		j.Dial = func(_ context.Context, s session.HandStep) error {
			if dialled++; undone && dialled == 2 {
				undone = false
				return feed.ErrUndo
			}
			if s.Lamp != "fill" || len(s.Set) == 0 {
				t.Errorf("asked to dial %+v", s)
			}
			return nil
		}
		j.Feeds = feed.Config{Log: zerolog.Nop(), Undo: true, Ask: readAloud(&asked)}
		run, err := session.Open(t.Context(), j)
		if err != nil {
			t.Fatal(err)
		}
		res, err := run.Work(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		o := res.Summary.Fixtures[0].Final()
		if o == nil || dialled == 0 || asked == 0 || len(o.After.Settings) == 0 {
			t.Errorf("dialled %d times, asked %d times: %+v", dialled, asked, o)
		}
		replayed(t, res.Dir)
	}
}

// readAloud is a person at the meter of a lamp that is off for two readings, and right from
// the third on. asked counts the readings.
func readAloud(asked *int) func(context.Context, feed.Question) (string, error) {
	return func(_ context.Context, q feed.Question) (string, error) {
		if q.Fixture != "fill" {
			return "", fmt.Errorf("the light of %q is asked for, want that of fill", q.Fixture)
		}
		if q.Understood != "" {
			return "", nil
		}
		*asked++
		if *asked < 3 {
			return "4450 0.001", nil
		}
		return fmt.Sprintf("%d 0.0000", 4298+*asked%5), nil
	}
}

// ExampleOpen matches a small rig on a simulated stage.
func ExampleOpen() {
	h := newHall(exampleT{}, quickRig)
	j := h.job(core.Match)
	j.Plan.SecondVisit = false // of no use on a lamp that stands for a minute
	run, err := session.Open(context.Background(), j)
	if err != nil {
		fmt.Println(err)
		return
	}
	res, err := run.Work(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range res.Summary.Fixtures[1:] {
		fmt.Println(f.Name, "was read and has an outcome:", f.Final().Readings > 1) // nearly always landed
	}
	// Output:
	// wash was read and has an outcome: true
	// cob was read and has an outcome: true
}

// exampleT stands in for a test in an example, which has none.
type exampleT struct{ testing.TB }

func (exampleT) Helper()           {}
func (exampleT) Cleanup(func())    {}
func (exampleT) Fatal(args ...any) { panic(fmt.Sprint(args...)) }
func (exampleT) TempDir() string {
	dir, err := os.MkdirTemp("", "trueup-example-")
	if err != nil {
		panic(err)
	}
	return dir
}
