package session

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"time"

	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/profiles/userfile"
)

// Run is one job on one rig, from arming to hand-back: what every face starts,
// watches and stops. Open arms it, Work does it.
type Run struct {
	job      Job
	core     *core.Core
	meters   *FeedMeters // nil in a rehearsal
	journal  *Journal    // nil where no files are kept
	door     *openedDoor // nil by hand
	hand     *HandWire   // by hand
	dir      string
	control  chan order
	brokeOff *brokenOff // nil: it begins
	leave    chan struct{}
	opened   time.Time     // when the levels found at the start had been sent for long enough; zero: nothing is sent
	begun    atomic.Bool   // Work goes on, or is over
	over     chan struct{} // closed when Work returns
}

// Result is what a run left behind.
type Result struct {
	Dir     string         // of the run's files; "" where none are kept
	Summary *Summary       // nil where no files are kept
	Times   core.TypeTimes // what this run found of what lamps do in time
	WriteUp error          // report or sheet could not be written; the journal has everything
}

// Open arms a run: meters answer, the folder and the journal are made, the network is
// listened to, and the levels found at the start are sent. No light has been moved when it
// returns. A start that is refused leaves nothing behind.
func Open(ctx context.Context, j Job) (r *Run, err error) { return open(ctx, j, nil) }

func open(ctx context.Context, j Job, e *Earlier) (r *Run, err error) {
	r = &Run{job: j, control: make(chan order, controls), leave: make(chan struct{}), over: make(chan struct{})}
	defer func() {
		if err != nil {
			r.abandon()
			r = nil
		}
	}()
	var of atMeter
	r.job.Feeds.Ask, r.job.Dial = of.names(j.Feeds.Ask), of.tells(j.Dial)
	r.job.Listen = func(e Entry) {
		of.take(e)
		if j.Listen != nil {
			j.Listen(e)
		}
	}
	byPerson := ReadByHand(j.Rig)
	if byPerson {
		r.job.Plan = Patient(r.job.Plan)
		for _, u := range j.Compiled.Units {
			u.SettleKnown = true // a person takes longer than any lamp
		}
	}
	if j.Work != core.Rehearse && j.Work != core.Recall {
		if r.meters, err = OpenMeters(ctx, j.Rig, r.job.Feeds); err != nil {
			return r, err
		}
		if !byPerson && j.Work != core.ByHand {
			if err = r.awaitMeters(ctx); err != nil {
				return r, err
			}
		}
	}
	if e != nil {
		err = r.takeUp(e)
	} else {
		err = r.openJournal()
	}
	if err != nil {
		return r, err
	}
	of.take(r.Before()...)
	priority := j.Rig.Output.Priority
	var before []core.Reading
	if j.Work == core.ByHand {
		r.hand = NewHandWire(j.Compiled.Units, r.job.Dial)
	} else {
		ended := r.readBeforehand(ctx)
		door, err := r.job.openDoor(ctx)
		r.opened = time.Now()
		before = ended()
		if err != nil {
			return r, err
		}
		r.door = door
		priority = r.door.priority
	}
	if e != nil {
		return r, nil
	}
	cfg := r.job.Config()
	cfg.Beforehand = before
	if r.core, err = core.New(cfg); err != nil {
		return r, err
	}
	if r.journal == nil {
		return r, nil
	}
	info, err := r.job.info(&cfg, priority)
	if err != nil {
		return r, err
	}
	info.RigPath = rigFrom(r.dir, r.job.Rig.Path)
	return r, r.journal.Append(Entry{Kind: core.KindRun, Run: info})
}

func (r *Run) openJournal() (err error) {
	if r.job.OutRoot == "" {
		return nil
	}
	if r.dir, err = MakeOutDir(r.job.OutRoot, r.job.Rig.Name, time.Now()); err != nil {
		return err
	}
	r.journal, err = CreateJournal(r.journalPath(), time.Now, r.job.Listen)
	return err
}

func (r *Run) journalPath() string { return filepath.Join(r.dir, JournalName) }

// abandon takes back what Open has done so far.
func (r *Run) abandon() {
	if r.door != nil {
		r.door.close()
	}
	if r.meters != nil {
		r.meters.Close()
	}
	if r.journal != nil {
		r.journal.Close()
		if s, err := os.Stat(r.journalPath()); err == nil && s.Size() == 0 {
			os.Remove(r.journalPath())
		}
	}
	if r.dir != "" {
		os.Remove(r.dir) // only if it is empty
	}
}

// Dir is the folder of the run's files; "" where none are kept.
func (r *Run) Dir() string { return r.dir }

// Hold keeps the lamps as they are and begins nothing new until GoOn. This and what follows is asked for at any time from any
// goroutine, and does nothing once the run is over.
func (r *Run) Hold(ctx context.Context) { r.tell(ctx, order{event: core.Event{Kind: core.Hold}}) }

// GoOn ends Hold.
func (r *Run) GoOn(ctx context.Context) { r.tell(ctx, order{event: core.Event{Kind: core.GoOn}}) }

// Skip leaves the fixture that is worked at, of several the one that has been worked at the longest; it is held. It returns
// that fixture's name, or "" where there was none to leave: before Work, between two fixtures, or while the reference or the
// background is read.
func (r *Run) Skip(ctx context.Context) (left string) {
	if !r.begun.Load() { // nobody would answer
		return ""
	}
	answer := make(chan string, 1)
	r.tell(ctx, order{core.Event{Kind: core.Skip}, answer})
	select {
	case left = <-answer:
	case <-r.over:
	case <-ctx.Done():
	}
	return left
}

// Next says that the meter is at the point that a run of points asks for.
func (r *Run) Next(ctx context.Context) { r.tell(ctx, order{event: core.Event{Kind: core.Next}}) }

func (r *Run) tell(ctx context.Context, o order) {
	select {
	case r.control <- o: // in the order in which they are asked for
	case <-r.over:
	case <-ctx.Done():
	}
}

// controls of a person wait for the shell in their order; more than these are waited with.
const controls = 16

// Leave does not wait for a hand-over: lamps stay as they are, at once.
// It is called once at the most, from any goroutine.
func (r *Run) Leave() {
	if r.door != nil {
		r.door.Hold(leftAtOnce)
	}
	close(r.leave)
}

const leftAtOnce = "left at once by a person"

// Work does the job until its end, or until ctx ends: then the lamps are handed
// back gently. Whatever happens the door is closed and what was measured is written
// up. It is called once.
func (r *Run) Work(ctx context.Context) (*Result, error) {
	r.begun.Store(true)
	if r.meters != nil {
		defer r.meters.Close()
	}
	sh := newShell(r.core, r.job.Compiled.Units, nil, nil, discard{r.job.Listen}, r.job.Plan.ReadTimeout, r.control)
	if r.journal != nil {
		sh.journal = r.journal
	}
	if !r.opened.IsZero() {
		sh.start = r.opened // what was read before counts from there
	}
	r.goOn(sh)
	during, over := context.WithCancel(ctx)
	defer over()
	sh.meters = r.probes(during, sh)
	defer close(r.over)
	var workErr, doorErr error
	res := &Result{Dir: r.dir}
	if r.door == nil {
		sh.wire = r.hand
		workErr = sh.run(ctx)
	} else {
		defer r.door.close()
		sh.wire = r.door
		ctx, end := context.WithCancelCause(ctx)
		defer end(nil)
		go r.door.taken.EndRun(ctx, end)
		workErr = r.door.Guard(func() error { return sh.run(ctx) })
		if cause := context.Cause(ctx); errors.Is(cause, sacn.ErrContended) {
			workErr = cause // no person and no signal stopped it
		}
		r.door.release(workErr)
		r.writeUp(res) // while the lamps are handed back, which may wait for a desk
		r.door.end(ctx, r.leave, r.job.say)
		doorErr = r.door.Err()
	}
	var closeErr error
	if r.journal != nil {
		closeErr = r.journal.Close()
		if errors.Is(workErr, closeErr) {
			closeErr = nil
		}
	}
	r.writeUp(res)
	res.Times = r.core.TypeTimes()
	return res, errors.Join(workErr, closeErr, res.WriteUp, doorErr)
}

// probes are the meters as the shell reads them: in an overlay readings are void
// while another source owns the light.
func (r *Run) probes(ctx context.Context, sh *shell) Meters {
	if r.door == nil || r.door.base == nil {
		return r.meters
	}
	door := r.door
	return &besideMeters{FeedMeters: r.meters, after: takeoverPause,
		above: func() []sacn.SourceInfo { return door.base.Above(door.priority) },
		say: func(note string) {
			go sh.tell(ctx, nil, func() core.Event { return core.Event{Kind: core.Conflict, Why: note} })
		}}
}

// writeUp sums the journal up and has report and sheet made from it.
func (r *Run) writeUp(res *Result) {
	if r.journal == nil {
		return
	}
	res.Summary, res.WriteUp = summaryOf(r.journalPath())
	if res.WriteUp == nil && r.job.WriteUp != nil {
		res.WriteUp = r.job.WriteUp(r.dir, res.Summary)
	}
}

func summaryOf(path string) (*Summary, error) {
	f, err := userfile.Open(path, userfile.Journal)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s, err := ReadSummary(f)
	if err != nil {
		return nil, fmt.Errorf("run %s: %w", filepath.Dir(path), err)
	}
	return s, nil
}

// discard keeps no entries, but lets them be heard.
type discard struct{ listen func(Entry) }

// Append implements keeper.
func (d discard) Append(entries ...Entry) error {
	for _, e := range entries {
		if d.listen != nil {
			e.Time = time.Now()
			d.listen(e)
		}
	}
	return nil
}

// awaitMeters waits until every feed has brought something, before any light
// moves.
func (r *Run) awaitMeters(whole context.Context) error {
	ctx, cancel := context.WithTimeout(whole, MeterTimeout)
	defer cancel()
	seen := map[string]bool{}
	for _, u := range r.job.Compiled.Units {
		probe := u.Info.Probe
		if seen[probe] || u.Info.ByHand || r.job.Probe != nil && u.Info.Name != r.job.Probe.Fixture {
			continue
		}
		seen[probe] = true
		if _, err := r.meters.ReadAnyAfter(ctx, probe, time.Time{}); err != nil {
			switch {
			case whole.Err() != nil: // somebody ended the run: the meter is not to blame
				return fmt.Errorf("%w; no light was moved", context.Cause(whole))
			case ctx.Err() == nil:
				return err
			}
			return fmt.Errorf("no reading%s within %s: %s; no light was moved ('trueup feed try' shows what a meter sends)", OfProbe(probe), MeterTimeout, r.meters.Trouble())
		}
	}
	return nil
}

// MeterTimeout is how long a feed has to bring its first reading.
const MeterTimeout = 8 * time.Second

// CorrectionWords says how each probe's readings are corrected.
func CorrectionWords(cs map[string]feed.Correction) []string {
	var words []string
	for _, name := range slices.Sorted(maps.Keys(cs)) {
		words = append(words, fmt.Sprintf("probe %s: %v", name, cs[name]))
	}
	return words
}
