package feed

import (
	"context"
	"errors"
	"fmt"
	"net"
	"slices"
	"sync"
	"time"
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
	changed   chan struct{} // closed and renewed at every change
	ring      []Reading     // the newest readings, oldest first
	first     uint64        // index of ring[0] since the start
	cursor    map[string]uint64
	state     State
	why       string
	ended     error // set once: no reading will come any more
	last      time.Time
	links     int
	linked    bool
	accepted  uint64
	aside     map[Reason]uint64
	probes    []string
	judge     *judge
	precision precision
	address   net.Addr
	demand    chan demand // who waits for a reading, for those who must be asked
	rate      rate
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
		cursor: map[string]uint64{}, aside: map[Reason]uint64{}, why: "not connected yet",
		judge: newJudge(c), hook: c.OnEvent, demand: make(chan demand, 1),
		rate: rate{perSecond: c.MaxRate},
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
	return f.wait(ctx, demand{}, func(r Reading) (bool, *Aside) { return true, nil })
}

// NextAfter returns the next reading of a probe ("" for any) whose integration
// began at or after settledAt. Readings that came too early are skipped and
// counted as BeforeSettle. Each reading is given out once per probe name.
func (f *Feed) NextAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error) {
	return f.wait(ctx, demand{probe: probe, settled: settledAt}, func(r Reading) (bool, *Aside) {
		if began := r.Began(); began.Before(settledAt) {
			return false, &Aside{Reason: BeforeSettle, Raw: r.Raw,
				Words: fmt.Sprintf("began %d ms too early", settledAt.Sub(began).Milliseconds())}
		}
		return true, nil
	})
}

// NextDarkAfter is NextAfter for a background: a reading that the instrument
// calls too dark serves as well. It has Underrange set and no colour.
func (f *Feed) NextDarkAfter(ctx context.Context, probe string, settledAt time.Time) (Reading, error) {
	return f.wait(ctx, demand{probe: probe, settled: settledAt, dark: true}, func(r Reading) (bool, *Aside) {
		return !r.Began().Before(settledAt), nil
	})
}

// wait gives out the first reading at or behind the probe's cursor that ok takes.
func (f *Feed) wait(ctx context.Context, want demand, ok func(Reading) (bool, *Aside)) (Reading, error) {
	want.over, want.failed = new(bool), new(error)
	for {
		f.mu.Lock()
		var skipped []Aside
		i := max(f.cursor[want.probe], f.first)
		for ; i < f.first+uint64(len(f.ring)); i++ {
			r := f.ring[i-f.first]
			if !want.matches(r) {
				continue
			}
			good, why := ok(r)
			if why != nil {
				skipped = append(skipped, *why)
			}
			if good {
				f.cursor[want.probe] = i + 1
				*want.over = true
				f.mu.Unlock()
				f.setAside(skipped...)
				return r, nil
			}
		}
		f.cursor[want.probe] = i
		changed, ended := f.changed, f.ended
		if *want.failed != nil {
			ended = *want.failed
		}
		*want.over = ended != nil
		f.mu.Unlock()
		f.setAside(skipped...)
		if ended != nil {
			return Reading{}, ended
		}
		select {
		case f.demand <- want:
		default: // the last one has not been heard yet
		}
		select {
		case <-changed:
		case <-ctx.Done():
			f.mu.Lock()
			*want.over = true
			f.mu.Unlock()
			return Reading{}, f.explain(ctx.Err())
		}
	}
}

// demand is somebody who waits for a reading.
type demand struct {
	probe   string
	settled time.Time
	dark    bool   // a reading too dark for a colour serves
	over    *bool  // nobody waits any more; guarded by the feed's lock
	failed  *error // why this one will not be served; guarded by the feed's lock
}

func (d demand) matches(r Reading) bool {
	return (d.dark || !r.Flags.Has(Underrange)) && (d.probe == "" || r.Probe == d.probe)
}

// fail tells one who waits that there will be no reading, and why.
func (f *Feed) fail(d demand, err error) {
	f.mu.Lock()
	*d.failed = err
	f.announce()
	f.mu.Unlock()
}

// needed reports whether somebody still waits, and no reading that serves has
// come meanwhile.
func (f *Feed) needed(d demand) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if *d.over {
		return false
	}
	for i := max(f.cursor[d.probe], f.first); i < f.first+uint64(len(f.ring)); i++ {
		if r := f.ring[i-f.first]; d.matches(r) && !r.Began().Before(d.settled) {
			return false
		}
	}
	return true
}

// explain adds to a time-out why the feed had nothing to give.
func (f *Feed) explain(err error) error {
	s := f.Status()
	if s.State == Live {
		return fmt.Errorf("feed %s: no reading that counts: %w", f.cfg.Name, err)
	}
	return fmt.Errorf("feed %s is %v (%s): %w", f.cfg.Name, s.State, s.Why, err)
}

// Status tells the state at this moment. A feed without an accepted reading
// for Config.StaleAfter is stale.
func (f *Feed) Status() Status {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.status(time.Now())
}

func (f *Feed) status(now time.Time) Status {
	s := Status{Name: f.cfg.Name, State: f.state, Why: f.why, Last: f.last, Links: f.links,
		Accepted: f.accepted, SetAside: map[Reason]uint64{}, Clock: f.judge.clock(), Probes: slices.Clone(f.probes)}
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
		f.judge.latency = latency
	}
	if integration > 0 {
		f.judge.integration = integration
	}
}

// announce wakes everybody who waits. The lock is held.
func (f *Feed) announce() {
	close(f.changed)
	f.changed = make(chan struct{})
}

func (f *Feed) tell(e Event) {
	if f.hook != nil {
		f.hook(e)
	}
}

func (f *Feed) tellStatus() {
	if f.hook != nil {
		s := f.Status()
		f.hook(Event{Status: &s})
	}
}

// listening tells where a feed that waits to be called can be reached.
func (f *Feed) listening(a net.Addr) {
	f.mu.Lock()
	f.address = a
	f.why = "listening at " + a.String()
	f.announce()
	f.mu.Unlock()
}

// Address is where a listening feed can be reached, nil before it listens and
// for feeds that do not.
func (f *Feed) Address() net.Addr {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.address
}

// verdict is what became of a message.
type verdict struct {
	ended bool // it ended a reading, good or bad
	taken int  // readings that count
	fast  bool // dropped by the rate bound
}

// and sums verdicts of several lines up.
func (v verdict) and(w verdict) verdict {
	return verdict{v.ended || w.ended, v.taken + w.taken, v.fast || w.fast}
}

func (f *Feed) linkUp() {
	f.mu.Lock()
	f.links++
	f.linked = true
	f.judge.linkUp()
	if f.state != Live {
		f.state, f.why = Waiting, "connected; nothing read yet"
	}
	f.announce()
	f.mu.Unlock()
	f.cfg.Log.Info().Str("feed", f.cfg.Name).Str("address", f.cfg.Address).Msg("feed connected")
	f.tellStatus()
}

func (f *Feed) linkDown(err error, wait time.Duration) {
	f.mu.Lock()
	again := f.linked || f.why != err.Error()
	f.linked = false
	f.state, f.why = Waiting, err.Error()
	f.announce()
	f.mu.Unlock()
	if again {
		f.cfg.Log.Warn().Str("feed", f.cfg.Name).Err(err).Dur("again_after", wait).Msg("feed lost; trying again")
		f.tellStatus()
	}
}

func (f *Feed) refused(err error) {
	state, log := Refused, f.cfg.Log.Error()
	if errors.Is(err, ErrEnded) {
		state, log = Ended, f.cfg.Log.Info()
	}
	f.mu.Lock()
	f.state, f.why = state, err.Error()
	f.mu.Unlock()
	f.end(fmt.Errorf("feed %s: %w", f.cfg.Name, err))
	log.Str("feed", f.cfg.Name).Err(err).Msg("feed is done")
	f.tellStatus()
}

func (f *Feed) end(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.ended == nil {
		f.ended = err
		f.announce()
	}
}

// setAside counts messages that do not count.
func (f *Feed) setAside(as ...Aside) {
	if len(as) == 0 {
		return
	}
	f.mu.Lock()
	for _, a := range as {
		f.aside[a.Reason]++
	}
	f.mu.Unlock()
	for _, a := range as {
		f.cfg.Log.Debug().Str("feed", f.cfg.Name).Str("reason", string(a.Reason)).Str("words", a.Words).Msg("set aside")
		f.tell(Event{Aside: &a})
	}
}

// message takes one raw message through rate bound, decoder and judge.
func (f *Feed) message(dec decoder, m message, now time.Time) verdict {
	f.mu.Lock()
	if len(m.data) > 0 && !f.rate.allow(now) { // the second half of CR LF is free
		f.mu.Unlock()
		f.setAside(Aside{Reason: TooFast, Words: fmt.Sprintf("more than %d a second", f.cfg.MaxRate), Raw: cut(m.data)})
		return verdict{fast: true}
	}
	drafts, asides := dec.decode(m, now)
	return f.settle(drafts, asides, now)
}

// take judges a draft that did not come as a message.
func (f *Feed) take(d draft, now time.Time) {
	f.mu.Lock()
	f.settle([]draft{d}, nil, now)
}

// settle judges drafts, and tells everybody. It takes the lock over.
func (f *Feed) settle(drafts []draft, asides []Aside, now time.Time) verdict {
	ended := len(drafts)+len(asides) > 0
	var fresh []Reading
	for _, d := range drafts {
		r, a := f.judge.take(d, now)
		if a != nil {
			asides = append(asides, *a)
			continue
		}
		f.push(r, now)
		fresh = append(fresh, r)
	}
	turned := len(fresh) > 0 && f.state != Live
	if len(fresh) > 0 {
		f.state, f.why = Live, ""
		f.announce()
	}
	f.mu.Unlock()
	f.setAside(asides...)
	if turned {
		f.tellStatus()
	}
	for i := range fresh {
		f.tell(Event{Reading: &fresh[i]})
	}
	return verdict{ended: ended, taken: len(fresh)}
}

// push appends to the ring. The lock is held.
func (f *Feed) push(r Reading, now time.Time) {
	if len(f.ring) == keep {
		f.ring = append(f.ring[:0], f.ring[1:]...)
		f.first++
	}
	f.ring = append(f.ring, r)
	f.accepted++
	f.last = now
	if !slices.Contains(f.probes, r.Probe) && len(f.probes) < maxProbes {
		f.probes = append(f.probes, r.Probe)
	}
}

// maxProbes bounds what a wild sender can make us remember.
const maxProbes = 256

// cut keeps the head of a message for display.
func cut(m []byte) string {
	const most = 512
	if len(m) > most {
		return string(m[:most]) + "…"
	}
	return string(m)
}

// rate is a bound per second of wall time.
type rate struct {
	perSecond int
	start     time.Time
	n         int
}

func (r *rate) allow(now time.Time) bool {
	if d := now.Sub(r.start); d < 0 || d >= time.Second {
		r.start, r.n = now, 0
	}
	r.n++
	return r.n <= r.perSecond
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
