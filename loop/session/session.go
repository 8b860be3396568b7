package session

import (
	"context"
	"errors"
	"fmt"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// Wire is what a session needs of the governor's door: wishes go in, and the
// limits decide when the wire gets there. Heads are counted as they were
// compiled.
type Wire interface {
	Wish(head int, codes []uint32) error
	WaitArrived(ctx context.Context, head int) (time.Time, error)
	Sent(head int) []uint32
	Alive()
}

// Meters gives readings by probe.
type Meters interface {
	// ReadAfter returns the next reading of a probe whose integration began at
	// or after settled.
	ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error)
}

// Plan is what a session is asked to do.
type Plan struct {
	Target    Target
	Tolerance float64 // radius in CIE 1976 u'v'
	Verify    bool    // read every fixture again at the end, and trim it if it drifted
	// AsFound reads every fixture once as its profile (or the desk) sets it, also
	// where earlier units have taught a better place to begin.
	AsFound bool
	// KeepLit puts no lamp out to measure another: people are aloft. Then there
	// is no background to take off either, and each probe must see its own lamp.
	KeepLit bool
	// Batches is what the units of each type are known to share; it is added to
	// as units land. Nil: every unit starts from its profile alone.
	Batches map[string]*solve.Batch
	// Common asks for one level of all units at the probe, Lux says which where
	// it is a figure. The level is set together with the colour when every unit
	// is visited again.
	Common rig.CommonLevel
	Lux    float64
	// WarmUp lights all units for so long before the first is matched.
	WarmUp time.Duration
	// DarkEnd says that the run ends dark anyway, so that the background can be
	// read again there and its drift be noticed.
	DarkEnd bool
	// ReferenceReadings is how often the reference is read; eight or more make
	// the meter's scatter known as well.
	ReferenceReadings int
	// ReadTimeout is how long to wait for one reading before giving up.
	ReadTimeout time.Duration
}

// DefaultPlan returns a fresh plan with the usual numbers.
func DefaultPlan() Plan {
	return Plan{Tolerance: 0.0010, Verify: true, AsFound: true, ReferenceReadings: 10, ReadTimeout: 10 * time.Second}
}

// Target is what is matched to: a named fixture, or a colour.
type Target struct {
	Reference string       // name of the unit that is the reference; "" for a colour
	Text      string       // as the person wrote it
	UV        colorcalc.UV // of the colour; not used with a reference
}

// Session works the units of a rig one after another. It is used by one
// goroutine.
type Session struct {
	units   []*Unit
	wire    Wire
	meters  Meters
	journal *Journal
	plan    Plan

	start      time.Time
	ref        *Reference
	noise      meterNoise
	background map[string]colorcalc.XYZ // by probe; missing: none was measured
	deadTimes  map[DeadTimeKey]time.Duration
	commonLux  float64 // level all units are brought to at the end; 0: each keeps its own
	lit        *Unit   // the unit that is alone lit at its probe now
}

// New makes a session over compiled units. The journal's run entry must be on
// disk already.
func New(units []*Unit, wire Wire, meters Meters, journal *Journal, plan Plan) (*Session, error) {
	if plan.Tolerance <= 0 || plan.ReferenceReadings < 1 || plan.ReadTimeout <= 0 {
		return nil, fmt.Errorf("session: tolerance, readings of the reference and time-out must be positive, have %v", plan)
	}
	if plan.Target.Reference != "" {
		if _, ok := findUnit(units, plan.Target.Reference); !ok {
			return nil, fmt.Errorf("session: the reference %q is no fixture of the rig", plan.Target.Reference)
		}
	}
	return &Session{units: units, wire: wire, meters: meters, journal: journal, plan: plan,
		start: time.Now(), background: map[string]colorcalc.XYZ{}, deadTimes: map[DeadTimeKey]time.Duration{}}, nil
}

func findUnit(units []*Unit, name string) (*Unit, bool) {
	for _, u := range units {
		if u.Info.Name == name {
			return u, true
		}
	}
	return nil, false
}

// Survey reads the reference and every fixture as its profile says it should
// be set, and moves nothing after that.
func (s *Session) Survey(ctx context.Context) error {
	if err := s.prepare(ctx); err != nil {
		return err
	}
	for _, u := range s.units {
		if !s.ours(u) {
			continue
		}
		err := s.surveyUnit(ctx, u)
		if errors.Is(err, errNoLight) {
			held := s.outcomeOf(u, solve.Decision{Outcome: solve.Held, Reason: err.Error()})
			err = s.journal.Append(Entry{Kind: KindOutcome, Fixture: u.Info.Name, Outcome: held})
		}
		if err != nil {
			return s.stopped(ctx, u, err)
		}
	}
	return s.journal.Append(Entry{Kind: KindEnd, Note: "survey done"})
}

// Match brings every fixture to the reference, one after another, then (if the
// plan says so) reads each again and trims what drifted. A fixture that does
// not land is recorded with its reason and does not end the run; a lost meter,
// a lost journal or a cancelled context does.
func (s *Session) Match(ctx context.Context) error {
	if err := s.prepare(ctx); err != nil {
		return err
	}
	for _, u := range s.units {
		if !s.ours(u) {
			continue
		}
		if err := s.matchUnit(ctx, u); err != nil {
			return s.stopped(ctx, u, err)
		}
	}
	if err := s.chooseCommonLevel(); err != nil {
		return s.stopped(ctx, nil, err)
	}
	if s.plan.Verify {
		for _, u := range s.units {
			if !s.ours(u) {
				continue
			}
			if err := s.verifyUnit(ctx, u); err != nil {
				return s.stopped(ctx, u, err)
			}
		}
	}
	if err := s.recheckBackgrounds(ctx); err != nil {
		return s.stopped(ctx, nil, err)
	}
	return s.journal.Append(Entry{Kind: KindEnd, Note: "run done"})
}

// prepare measures what every fixture is judged by: background and reference.
func (s *Session) prepare(ctx context.Context) error {
	if s.plan.KeepLit {
		note := "people are aloft: no lamp is put out to measure another, and no background is taken off; each probe must see its own lamp and little else"
		if err := s.journal.Append(Entry{Kind: KindBackground, Note: note}); err != nil {
			return err
		}
	} else if err := s.readBackgrounds(ctx); err != nil {
		return s.stopped(ctx, nil, err)
	}
	if err := s.readReference(ctx); err != nil {
		return s.stopped(ctx, nil, err)
	}
	if err := s.warmUp(ctx); err != nil {
		return s.stopped(ctx, nil, err)
	}
	return nil
}

// ours tells whether a unit is to be moved in this run.
func (s *Session) ours(u *Unit) bool {
	return u.Head >= 0 && u.Info.Name != s.plan.Target.Reference
}

// ErrStopped is wrapped by the error of a run that a person or a signal ended.
var ErrStopped = errors.New("stopped")

// stopped records why the run ends early and passes the error on.
func (s *Session) stopped(ctx context.Context, u *Unit, err error) error {
	name, note := "", err.Error()
	if ctx.Err() != nil {
		if cause := context.Cause(ctx); cause != nil && !errors.Is(cause, context.Canceled) {
			note = cause.Error()
		} else {
			note = "stopped by a person"
		}
		err = fmt.Errorf("%w: %s", ErrStopped, note)
	}
	if u != nil {
		name = u.Info.Name
		err = fmt.Errorf("%s: %w", name, err)
		held := s.outcomeOf(u, solve.Decision{Outcome: solve.Held, Reason: note})
		if jerr := s.journal.Append(Entry{Kind: KindOutcome, Fixture: name, Outcome: held}); jerr != nil {
			return errors.Join(err, jerr)
		}
	}
	if jerr := s.journal.Append(Entry{Kind: KindStop, Note: note}); jerr != nil {
		return errors.Join(err, jerr)
	}
	return err
}

// read takes one reading of a probe, bounded in time. Waiting for a slow meter
// is work, not silence, so it shows life until the time is up.
func (s *Session) read(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	tctx, cancel := context.WithTimeoutCause(ctx, s.plan.ReadTimeout,
		fmt.Errorf("no usable reading of probe %q within %s; is the meter on, connected, and measuring?", probe, s.plan.ReadTimeout))
	defer cancel()
	stop := s.showLife(tctx)
	r, err := s.meters.ReadAfter(tctx, probe, settled)
	stop()
	if err != nil && ctx.Err() == nil && tctx.Err() != nil {
		err = context.Cause(tctx)
		if t, ok := s.meters.(interface{ Trouble() string }); ok {
			err = fmt.Errorf("%w (%s)", err, t.Trouble())
		}
	}
	return r, err
}

// showLife feeds the watchdog until stop is called or ctx ends. It runs beside
// the wait and can not see whether that makes progress: what bounds the wait is
// ctx alone, so everything it is used around must be bounded by ctx.
func (s *Session) showLife(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	s.wire.Alive()
	go func() {
		defer close(done)
		tick := time.NewTicker(aliveEvery)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				s.wire.Alive()
			case <-ctx.Done():
				return
			}
		}
	}()
	return func() { cancel(); <-done }
}

// aliveEvery is how often a waiting session shows life.
const aliveEvery = 500 * time.Millisecond

// rampTimeout bounds the wait for the wire: the slowest legal ramp with every
// pause that the flash guard can ask for is well inside.
const rampTimeout = 2 * time.Minute

// wait waits for a head to arrive; a ramp is work, not silence.
func (s *Session) wait(ctx context.Context, head int) (time.Time, error) {
	tctx, cancel := context.WithTimeoutCause(ctx, rampTimeout, fmt.Errorf("the wire did not reach the wish within %s", rampTimeout))
	defer cancel()
	defer s.showLife(tctx)()
	at, err := s.wire.WaitArrived(tctx, head)
	if err != nil && ctx.Err() == nil && tctx.Err() != nil {
		return at, context.Cause(tctx)
	}
	return at, err
}
