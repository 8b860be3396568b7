package sacn

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"trueup/dmx"
)

// Sender sends the levels of its universes, by one goroutine for all of them
// and for all ways out. A frame costs no allocation.
type Sender struct {
	cfg     SenderConfig
	streams []*stream
	index   map[dmx.Universe]*stream
	links   []*link
	batch   []int // streams that speak at this tick
	scratch [dmx.SlotsPerUniverse]byte
	sync    []byte
	syncDue time.Time
	disc    announcer
	wakeup  chan struct{}
	running atomic.Bool
	mu      sync.Mutex // guards link.state
	beside  []*Receiver
	late    lateness
}

// NewSender checks cfg and prepares a Sender. No packet leaves before Run.
func NewSender(cfg SenderConfig) (*Sender, error) {
	if err := cfg.check(); err != nil {
		return nil, fmt.Errorf("sACN output: %w", err)
	}
	var names []string
	if cfg.Multicast {
		var err error
		if names, err = SendInterfaces(cfg.Interfaces); err != nil {
			return nil, fmt.Errorf("sACN output: %w", err)
		}
	}
	s := newSender(cfg)
	if cfg.Multicast {
		for _, n := range names {
			named := func() string { return n }
			if cfg.IP.has4() {
				l := s.addLink(n+" (IPv4)", func() (out, error) { return dialMulticast(n, false) }, toGroup(group4))
				l.group, l.cable = true, &cable{name: named}
			}
			if cfg.IP.has6() {
				l := s.addLink(n+" (IPv6)", func() (out, error) { return dialMulticast(n, true) }, toGroup(group6))
				l.group, l.cable = true, &cable{name: named}
			}
		}
	}
	for _, u := range cfg.Unicast {
		addr := net.UDPAddrFromAddrPort(netip.AddrPortFrom(u.Addr().Unmap(), u.Port()))
		l := s.addLink(u.String(), func() (out, error) { return dialUnicast(addr.AddrPort()) }, func(uint16) net.Addr { return addr })
		l.cable = &cable{name: func() string { return routeTo(addr.AddrPort()) }}
	}
	return s, nil
}

func toGroup(group func(uint16) netip.Addr) func(uint16) net.Addr {
	return func(u uint16) net.Addr { return net.UDPAddrFromAddrPort(netip.AddrPortFrom(group(u), Port)) }
}

// newSender makes a Sender without a way out.
func newSender(cfg SenderConfig) *Sender {
	cfg.CID = cfg.CID.marked()
	s := &Sender{cfg: cfg, index: map[dmx.Universe]*stream{}, wakeup: make(chan struct{}, 1)}
	universes := slices.Clone(cfg.Universes)
	slices.Sort(universes)
	for _, u := range universes {
		st := &stream{universe: u}
		st.pkt.init(cfg.CID, cfg.SourceName, cfg.Priority, cfg.SyncAddress, u)
		if cfg.Preview {
			st.pkt.buf[offOptions] |= optPreview
		}
		s.streams = append(s.streams, st)
		s.index[u] = st
	}
	s.batch = make([]int, 0, len(s.streams))
	if cfg.Beside != nil {
		s.beside = append(s.beside, cfg.Beside)
	}
	if cfg.Follow != nil {
		s.beside = append(s.beside, cfg.Follow.Receiver)
	}
	if cfg.SyncAddress != 0 {
		s.sync = syncPacket(cfg.CID, cfg.SyncAddress)
	}
	return s
}

func (s *Sender) addLink(name string, dial func() (out, error), to func(uint16) net.Addr) *link {
	l := &link{name: name, dial: dial, to: to, log: s.cfg.Log, ms: make([]message, 0, len(s.streams))}
	l.state.Name = name
	for _, st := range s.streams {
		l.table = append(l.table, message{Buffers: [][]byte{st.pkt.bytes()}, Addr: to(uint16(st.universe))})
	}
	s.links = append(s.links, l)
	return l
}

// Run sends until ctx ends, then says goodbye on every universe that was begun
// (three packets with Stream_Terminated) and returns nil. A way out that fails
// is no end: it is shown by Links, said once in the log, and tried again. A
// Sender runs once.
func (s *Sender) Run(ctx context.Context, frames Frames) error {
	if !s.running.CompareAndSwap(false, true) {
		return errors.New("sACN output: a Sender runs only once")
	}
	defer func() {
		for _, l := range s.links {
			l.close()
			if l.cable != nil {
				l.cable.close()
			}
		}
	}()
	if s.cfg.Follow != nil {
		defer s.cfg.Follow.follow(s.Wake)()
	}
	timer := time.NewTimer(0)
	defer timer.Stop()
	due := time.Now()
	for {
		select {
		case <-ctx.Done():
			s.terminate(timer)
			return nil
		case <-timer.C:
		case <-s.wakeup:
		}
		if ctx.Err() != nil {
			continue
		}
		now := time.Now()
		if now.Before(due) { // woken
			due = now
		}
		next := s.tick(now, frames)
		if len(s.batch) > 0 {
			s.late.add(time.Since(due))
		}
		due = next
		timer.Reset(time.Until(next))
	}
}

// Wake says that the levels of u have changed: they are pulled at once, or as
// soon as the rate of 44 a second allows. It may be called from any goroutine
// and does not block. Without it they are pulled at the next tick.
func (s *Sender) Wake(u dmx.Universe) {
	st := s.index[u]
	if st == nil || st.woken.Swap(true) {
		return
	}
	select {
	case s.wakeup <- struct{}{}:
	default:
	}
}

// Links tells how each way out is doing.
func (s *Sender) Links() []LinkState {
	s.mu.Lock()
	defer s.mu.Unlock()
	var all []LinkState
	for _, l := range s.links {
		all = append(all, l.state)
	}
	return all
}

// Down reports whether every way out has failed.
func (s *Sender) Down() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, l := range s.links {
		if l.state.Up || l.state.Errors == 0 {
			return false
		}
	}
	return len(s.links) > 0
}

// tick does what is due at now and returns when something will be due again.
func (s *Sender) tick(now time.Time, frames Frames) time.Time {
	next := now.Add(framePeriod)
	s.batch = s.batch[:0]
	for i, st := range s.streams {
		if st.woken.Load() && st.woken.Swap(false) {
			st.wake(now)
		}
		if !st.due.After(now) {
			fresh := !st.started
			if st.pull(now, frames, &s.scratch) {
				s.batch = append(s.batch, i)
				if fresh {
					s.disc.changed = true
				}
			}
		}
	}
	s.flush(now)
	if wrote := time.Now(); wrote.Sub(now) > lateWrite {
		for _, i := range s.batch {
			s.streams[i].wentLate(wrote)
		}
	}
	for _, st := range s.streams {
		if st.due.Before(next) {
			next = st.due
		}
	}
	if !s.syncDue.IsZero() {
		if !s.syncDue.After(now) {
			s.sendSync(now)
		} else if s.syncDue.Before(next) {
			next = s.syncDue
		}
	}
	if s.cfg.Multicast && s.disc.due(now) {
		s.announce(now, s.active())
	}
	return next
}

// flush sends the packets of this tick's streams on every link.
func (s *Sender) flush(now time.Time) {
	if len(s.batch) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, i := range s.batch {
		for _, r := range s.beside {
			r.note(s.streams[i].universe, s.streams[i].pkt.bytes())
		}
	}
	again := false
	for _, l := range s.links {
		l.ms = l.ms[:0]
		for _, i := range s.batch {
			l.table[i].Buffers[0] = s.streams[i].pkt.bytes()
			l.ms = append(l.ms, l.table[i])
		}
		again = l.send(now, l.ms) || again
		if l.state.Up && len(l.owed) > 0 {
			again = l.sayOwed(now) || again
		}
	}
	if again {
		s.sayAgain()
	}
	if s.sync != nil {
		s.syncDue = now.Add(s.cfg.SyncDelay)
		if s.cfg.SyncDelay == 0 {
			s.syncLocked(now)
		}
	}
}

// sayAgain repeats every look: whoever was cut off has missed changes.
func (s *Sender) sayAgain() {
	for _, st := range s.streams {
		if st.started {
			st.repeats = max(st.repeats, settleRepeats)
		}
	}
}
