package session

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"trueup/colorcalc/spectrum"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/profiles/oserror"
	"trueup/safety"
)

// Wire is what a run needs of the governor's door: wishes go in, and the limits
// decide when the wire gets there. Heads are counted as they were compiled.
type Wire interface {
	Wish(head int, codes []uint32) error
	WaitArrived(ctx context.Context, head int) (time.Time, error)
	Sent(head int) []uint32
	Alive()
}

// Meters gives readings by probe.
type Meters interface {
	// ReadAfter returns the next reading of a probe whose integration began at or
	// after settled; ReadDarkAfter also one that is too dark for a colour; ReadAnyAfter
	// that, and one of a colour that the instrument can not tell.
	ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error)
	ReadDarkAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error)
	ReadAnyAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error)
}

// keeper puts entries on disk.
type keeper interface{ Append(...Entry) error }

// shell does what the core says and tells it what happened, one event at a time.
// All that goes on beside it (a wait for a head, a wait for a reading) only
// sends events.
type shell struct {
	core    *core.Core
	units   map[string]*Unit // by name
	wire    Wire
	meters  Meters
	journal keeper
	timeout time.Duration // of one reading
	control <-chan order

	start   time.Time
	first   core.Event // what the run begins with
	due     []Entry    // to be kept before that: a crash has kept them from the journal
	events  chan told
	next    []core.Event                  // to be handled before anything else
	waits   map[int]*wait                 // for heads
	reads   map[uint64]context.CancelFunc // for readings, by ask
	done    chan struct{}                 // whom to tell once the present event was handled; may be nil
	left    chan<- string                 // whom to tell which fixture the present event has left; may be nil
	stopped bool                          // the end of the context was told
}

// aliveEvery is how often time passes for the core, and the watchdog is fed, when
// nothing else happens.
const aliveEvery = 500 * time.Millisecond

// rampTimeout bounds the wait for the wire: the slowest legal ramp with every
// pause that the flash guard can ask for is well inside.
const rampTimeout = 2 * time.Minute

// stopGrace is how much later than the door the run may hear of a stop.
const stopGrace = 100 * time.Millisecond

// newShell makes a shell whose clock begins now.
func newShell(c *core.Core, units []*Unit, wire Wire, meters Meters, journal keeper, timeout time.Duration, control <-chan order) *shell {
	s := &shell{core: c, units: map[string]*Unit{}, wire: wire, meters: meters, journal: journal, timeout: timeout, control: control,
		start: time.Now(), first: core.Event{Kind: core.Begin}, events: make(chan told), waits: map[int]*wait{}, reads: map[uint64]context.CancelFunc{}}
	for _, u := range units {
		s.units[u.Info.Name] = u
	}
	return s
}

// run goes on until the core has ended the run. The error is the core's, or the
// journal's: without a journal there is no next step.
func (s *shell) run(ctx context.Context) error {
	work, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	tick := time.NewTicker(aliveEvery)
	defer tick.Stop()
	if err := s.keep(s.due); err != nil {
		return err
	}
	e := s.first
	for {
		e.At = time.Since(s.start)
		do := s.core.Step(e)
		if err := s.keep(do.Entries); err != nil {
			return err
		}
		if s.left != nil {
			s.left <- leftBy(do.Entries)
			s.left = nil
		}
		if do.Done {
			return do.Err
		}
		s.perform(work, &do)
		if s.done != nil {
			close(s.done)
			s.done = nil
		}
		s.wire.Alive()
		e = s.await(ctx, tick.C, do.Wake)
	}
}

// await returns the next thing that happens. The end of ctx comes once, and goes
// before what it brings about: the door hears of it too, and calls off what was wished.
func (s *shell) await(ctx context.Context, tick <-chan time.Time, wake time.Duration) (e core.Event) {
	var ended <-chan struct{}
	if !s.stopped {
		ended = ctx.Done()
	}
	var alarm <-chan time.Time
	if wake > 0 {
		alarm = time.After(wake - time.Since(s.start))
	}
	if len(s.next) > 0 {
		e, s.next = s.next[0], s.next[1:]
	} else {
		select {
		case t := <-s.events:
			s.done = t.done
			if e = t.event; t.of.off() {
				e = core.Event{Kind: core.Tick} // of a wish that a newer one has replaced
			}
			if e.Kind == core.Read || e.Kind == core.NoReading {
				delete(s.reads, e.Ask)
			}
		case o := <-s.control:
			e, s.left = o.event, o.left
		case <-tick:
			e.Kind = core.Tick
		case <-alarm:
			e.Kind = core.Tick
		case <-ended:
		}
	}
	if e.Kind == core.Fault && !s.stopped {
		// The door hears of a stop by the same context, perhaps a moment earlier, and
		// refuses wishes from then on: the stop is what happened.
		select {
		case <-ctx.Done():
		case <-time.After(stopGrace):
		}
	}
	if s.stopped || ctx.Err() == nil {
		return e
	}
	s.stopped = true
	stop := core.Event{Kind: core.Stop, Why: why(ctx)}
	if e.Kind != core.Read {
		return stop
	}
	s.next = append([]core.Event{stop}, s.next...) // what was measured is kept
	return e
}

// why is the reason of a context's end in words.
func why(ctx context.Context) string {
	if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
		return cause.Error()
	}
	return "stopped by a person"
}

// keep dresses entries for people and puts them on disk.
func (s *shell) keep(entries []Entry) error {
	for i := range entries {
		e := &entries[i]
		u := s.units[e.Fixture]
		if u == nil || u.Head < 0 {
			continue
		}
		u.DressEntry(e)
	}
	return s.journal.Append(entries...)
}

// perform does what the core asks for; answers come as events.
func (s *shell) perform(ctx context.Context, do *core.Do) {
	for _, id := range do.Drop {
		if cancel := s.reads[id]; cancel != nil {
			cancel()
			delete(s.reads, id)
		}
	}
	for _, head := range do.Forget {
		s.waits[head].callOff()
	}
	for _, w := range do.Wishes {
		s.waits[w.Head].callOff()
		if err := s.wire.Wish(w.Head, w.Codes); err != nil {
			s.next = append(s.next, wishFailed(w.Head, err))
			continue
		}
		wctx, cancel := context.WithCancel(ctx)
		if _, person := s.wire.(*HandWire); !person { // who takes as long as it takes
			wctx, cancel = context.WithTimeoutCause(ctx, rampTimeout, fmt.Errorf("the output did not reach the requested level within %s", rampTimeout))
		}
		of := &wait{cancel: cancel}
		s.waits[w.Head] = of
		go s.tell(ctx, of, func() core.Event { defer cancel(); return s.arrival(wctx, w.Head) })
	}
	for _, a := range do.Asks {
		// A reading that may not begin yet can not be late yet: a slow lamp is waited for longer.
		rctx, cancel := context.WithTimeoutCause(ctx, s.timeout+max(0, a.After-time.Since(s.start)),
			fmt.Errorf("no usable reading%s within %s; is the meter on, connected, and measuring?", OfProbe(a.Probe), s.timeout))
		s.reads[a.ID] = cancel
		go func() { defer cancel(); s.readFor(ctx, rctx, a) }()
	}
}

// tell waits beside the loop and sends what came of it, unless the run is over or the
// wait was called off. A fault in there ends the run gently.
func (s *shell) tell(ctx context.Context, of *wait, happens func() core.Event) {
	var e core.Event
	func() {
		defer func() {
			if p := recover(); p != nil {
				e = core.Event{Kind: core.Fault, Why: fmt.Sprintf("fault in the program: %v", p)}
			}
		}()
		e = happens()
	}()
	if e.Kind == "" {
		return
	}
	select {
	case s.events <- told{event: e, of: of}:
	case <-ctx.Done():
	}
}

// readFor reads for one ask, and tells what came. A person at the meter who answers skip leaves
// the fixture; where the reading is wanted all the same, for others, they are asked again.
func (s *shell) readFor(ctx, rctx context.Context, a core.Ask) {
	for {
		var e core.Event
		s.tell(ctx, nil, func() core.Event {
			if e = s.read(rctx, a); e.Kind == core.Skip {
				return core.Event{}
			}
			return e
		})
		if e.Kind != core.Skip {
			return
		}
		done := make(chan struct{})
		select {
		case s.events <- told{event: e, done: done}:
		case <-ctx.Done():
			return
		}
		select {
		case <-done:
		case <-ctx.Done():
		}
		if rctx.Err() != nil {
			return
		}
	}
}

// wishFailed says whether one head is concerned or the whole run.
func wishFailed(head int, err error) core.Event {
	if errors.Is(err, safety.ErrReleased) {
		return core.Event{Kind: core.Fault, Why: oserror.Text(err)}
	}
	return core.Event{Kind: core.Refused, Head: head, Why: err.Error()}
}

// arrival waits for a head. No event: a newer wish has called the wait off.
func (s *shell) arrival(ctx context.Context, head int) core.Event {
	at, err := s.wire.WaitArrived(ctx, head)
	switch {
	case err == nil:
		return core.Event{Kind: core.Arrived, Head: head, Sent: s.wire.Sent(head), When: at.Sub(s.start)}
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return core.Event{Kind: core.Refused, Head: head, Why: context.Cause(ctx).Error()}
	case ctx.Err() != nil:
		return core.Event{}
	case errors.Is(err, safety.ErrHeld):
		return core.Event{Kind: core.Refused, Head: head, Why: err.Error()}
	}
	return byPerson(err)
}

// read waits for a reading. No event: it was called off.
func (s *shell) read(ctx context.Context, a core.Ask) core.Event {
	read := s.meters.ReadAfter
	switch {
	case a.Coloured:
		read = s.meters.ReadAnyAfter
	case a.Dark || a.Faint:
		read = s.meters.ReadDarkAfter
	}
	trouble := func() string { return "" }
	if t, ok := s.meters.(interface{ TroubleFromNow() func() string }); ok {
		trouble = t.TroubleFromNow()
	}
	r, err := read(ctx, a.Probe, s.start.Add(a.After))
	switch {
	case err == nil:
		got := readingOf(r, a.Probe)
		got.At = r.Time.Sub(s.start)
		return core.Event{Kind: core.Read, Ask: a.ID, Reading: &got}
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		text := context.Cause(ctx).Error()
		if why := trouble(); why != "" {
			text += " (" + why + ")"
		}
		return core.Event{Kind: core.NoReading, Ask: a.ID, Why: text}
	case ctx.Err() != nil:
		return core.Event{}
	}
	if e := byPerson(err); e.Kind != core.Fault {
		return e
	}
	return core.Event{Kind: core.Fault, Why: "reading the meter: " + oserror.Text(err)}
}

// readingOf is a reading of a probe as the core takes it, but for when it was made.
func readingOf(r feed.Reading, probe string) core.Reading {
	return core.Reading{Spectrum: spectrum.KeptOf(r.Spectrum), Integration: r.Integration, Told: r.Told, Probe: probe, Seq: r.Seq,
		UV: r.UV, Y: r.Y, HasY: r.HasY, RoundXY: r.RoundXY, TooDark: r.Flags.Has(feed.Underrange), NotWhite: r.Flags.Has(feed.NotWhite)}
}

// byPerson is what a person meant who did not answer a question; a fault if none did.
func byPerson(err error) core.Event {
	switch {
	case errors.Is(err, feed.ErrUndo):
		return core.Event{Kind: core.Undo}
	case errors.Is(err, ErrSkip):
		return core.Event{Kind: core.Skip}
	case errors.Is(err, feed.ErrEnded), errors.Is(err, io.EOF):
		return core.Event{Kind: core.Stop, Why: "the terminal was closed"}
	}
	return core.Event{Kind: core.Fault, Why: oserror.Text(err)}
}

// order is what a person asks of the run; left, where it is not nil, has room for one answer: the fixture that was left.
type order struct {
	event core.Event
	left  chan<- string
}

// leftBy is the fixture that a skip has ended, as its entries tell; "" for none.
func leftBy(entries []Entry) string {
	for _, e := range entries {
		if e.Outcome != nil {
			return e.Fixture
		}
	}
	return ""
}

// told is an event and the wait that it is the end of, if it was one for a head.
type told struct {
	event core.Event
	of    *wait
	done  chan struct{} // closed once what came of it has been done; may be nil
}

// wait is for one head. Only the shell's loop touches called: what a wait tells after it
// was called off is of a wish that does not count any more.
type wait struct {
	cancel context.CancelFunc
	called bool
}

func (w *wait) callOff() {
	if w != nil {
		w.called = true
		w.cancel()
	}
}

func (w *wait) off() bool { return w != nil && w.called }
