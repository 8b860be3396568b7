package feed

import (
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"sync"
	"time"

	"trueup/loop/feed/instrument"
)

// ErrClosed is returned once a feed was closed.
var ErrClosed = errors.New("feed closed")

// keep is how many accepted readings a feed holds for those who ask later.
const keep = 256

// Feed is an open feed. All methods may be used from any goroutine.
type Feed struct {
	cfg    Config
	cancel context.CancelFunc
	done   chan struct{} // closed when the supervisor has ended

	tapLock   sync.Mutex // guards cfg.Tap
	mu        sync.Mutex
	changed   chan struct{}              // closed and renewed at every change
	ring      []Reading                  // the newest readings, oldest first
	first     uint64                     // index of ring[0] since the start
	cursor    map[string]uint64          // by probe: the first reading for who asks next
	queue     map[string][]demand        // by probe: who waits, the longest first
	given     map[string]map[uint64]bool // by probe: readings given out while others waited
	state     State
	why       string
	ended     error // set once: no reading will come any more
	last      time.Time
	links     int
	linked    bool
	accepted  uint64
	aside     map[Reason]uint64
	probes    []string
	accept    *acceptance
	precision instrument.Precision
	address   net.Addr
	demand    chan demand // who waits for a reading, for those who must be asked
	hook      func(Event)
}

// Event is what a feed tells its observer, as it happens. Exactly one field is
// set.
type Event struct {
	Reading *Reading
	Aside   *Aside
	Status  *Status
}

// Open starts a feed. It returns at once; the link is made in the background
// and made again whenever it breaks, until ctx ends or Close is called. The
// error is about the config alone.
func Open(ctx context.Context, c Config) (*Feed, error) {
	t, err := newTransport(c.withDefaults())
	if err != nil {
		return nil, err
	}
	return openWith(ctx, c, t)
}

func openWith(ctx context.Context, c Config, t transport) (*Feed, error) {
	c = c.withDefaults()
	ctx, cancel := context.WithCancel(ctx)
	f := &Feed{
		cfg: c, cancel: cancel, done: make(chan struct{}), changed: make(chan struct{}),
		cursor: map[string]uint64{}, queue: map[string][]demand{}, given: map[string]map[uint64]bool{}, aside: map[Reason]uint64{}, why: "not connected yet",
		accept: newAcceptance(c), hook: c.OnEvent, demand: make(chan demand, 1),
	}
	go func() {
		defer close(f.done)
		f.supervise(ctx, t)
	}()
	return f, nil
}

// Close ends the feed and waits until its goroutines are gone. It may be
// called more than once.
func (f *Feed) Close() error {
	f.cancel()
	<-f.done
	return nil
}

// Next returns the next accepted reading of any probe. It waits until there is
// one, ctx ends, or the feed can bring no more.
func (f *Feed) Next(ctx context.Context) (Reading, error) {
	return f.wait(ctx, demand{}, nil)
}

// NextAfter returns the next reading of a probe ("" for any) whose integration
// began at or after settledAt. Readings that came too early are skipped and
// counted as BeforeSettle. Each reading is given out once per probe name.
func (f *Feed) NextAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error) {
	return f.wait(ctx, demand{probe: probe, settled: settledAt}, func(r Reading) Aside {
		return Aside{Reason: BeforeSettle, Raw: r.Raw, Words: fmt.Sprintf("began %d ms too early", settledAt.Sub(r.Began()).Milliseconds())}
	})
}

// NextDarkAfter is NextAfter for a background: a reading that the instrument
// calls too dark serves as well. It has Underrange set and no colour.
func (f *Feed) NextDarkAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error) {
	return f.wait(ctx, demand{probe: probe, settled: settledAt, dark: true}, nil)
}

// NextAnyAfter is NextDarkAfter for a lamp that is lit, and of which nobody knows yet what it gives: a reading of a colour
// that the instrument can not tell serves as well. It has NotWhite set and no colour. A person who reads the
// meter sees whether there is light, and is not taken at dark.
func (f *Feed) NextAnyAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error) {
	return f.wait(ctx, demand{probe: probe, settled: settledAt, dark: true, any: true}, nil)
}

// Status tells the state at this moment. A feed without an accepted reading
// for Config.StaleAfter is stale.
func (f *Feed) Status() Status {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.status(time.Now())
}

func (f *Feed) status(now time.Time) Status {
	s := Status{Name: f.cfg.Name, State: f.state, Why: f.why, Last: f.last, Links: f.links, Linked: f.linked,
		Accepted: f.accepted, SetAside: map[Reason]uint64{}, Clock: f.accept.clock(), Probes: slices.Clone(f.probes)}
	for k, v := range f.aside {
		s.SetAside[k] = v
	}
	if s.State == Live && now.Sub(f.last) > f.cfg.StaleAfter {
		s.State = Stale
		s.Why = fmt.Sprintf("no usable reading for %.0f s", now.Sub(f.last).Seconds())
	}
	return s
}

func (f *Feed) acceptedCount() uint64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.accepted
}

// SetTiming stores a measured latency and integration time; zero leaves a
// value as it is.
func (f *Feed) SetTiming(latency, integration time.Duration) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if latency > 0 {
		f.accept.latency = latency
	}
	if integration > 0 {
		f.accept.integration = integration
	}
}

// Probe is one probe of a feed, as the loop reads it.
type Probe struct {
	feed *Feed
	name string
}

// Probe returns the probe of that name; "" stands for any.
func (f *Feed) Probe(name string) Probe { return Probe{f, name} }

// ReadAfter is NextAfter of this probe.
func (p Probe) ReadAfter(ctx context.Context, settled time.Time) (Reading, error) {
	return p.feed.NextAfter(ctx, p.name, settled)
}
