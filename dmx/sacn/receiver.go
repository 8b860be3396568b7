package sacn

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"sync"
	"sync/atomic"
	"time"

	"trueup/dmx"
)

// sweepEvery is how often sources are looked through for silence. A loss is
// seen at most so much after the 2.5 s.
const sweepEvery = 100 * time.Millisecond

// Receiver listens to E1.31. It keeps a table of sources, and for each universe
// the merged look of all that are live.
type Receiver struct {
	cfg   ReceiverConfig
	local netip.AddrPort
	names []string // interfaces to join on

	mu      sync.Mutex
	table   *table
	notices notices

	socketsMu sync.Mutex
	sockets   []*groupSocket
	closed    bool
	wants     []membership
	wanted    map[dmx.Universe]bool
	joinErr   map[membership]string

	follower atomic.Pointer[func(dmx.Universe)]

	running atomic.Bool
	readers sync.WaitGroup
}

// NewReceiver opens the sockets, so that LocalAddr is known; packets are read
// by Run. A Receiver that is never run is closed by running it with an ended
// context.
func NewReceiver(cfg ReceiverConfig) (*Receiver, error) {
	return newReceiver(cfg, func(CID) bool { return false }, nil)
}

func newReceiver(cfg ReceiverConfig, foreign func(CID) bool, sent *outbox) (*Receiver, error) {
	for _, u := range cfg.Universes {
		if !u.Valid() {
			return nil, fmt.Errorf("sACN input: universe %d: want 1..%d", u, dmx.MaxUniverse)
		}
	}
	if cfg.Listen == (netip.AddrPort{}) {
		cfg.Listen = netip.AddrPortFrom(netip.IPv4Unspecified(), Port)
		if !cfg.IP.has4() {
			cfg.Listen = netip.AddrPortFrom(netip.IPv6Unspecified(), Port)
		}
	}
	if cfg.TryIPv6 = cfg.TryIPv6 && !cfg.IP.has6() && machineHasIPv6(); cfg.TryIPv6 {
		cfg.IP = IPv4AndIPv6
	}
	cfg.OwnCID = cfg.OwnCID.marked()
	r := &Receiver{cfg: cfg, table: newTable(cfg, foreign, sent), wanted: map[dmx.Universe]bool{}, joinErr: map[membership]string{}}
	if err := r.open(); err != nil {
		r.closeAll()
		return nil, fmt.Errorf("sACN input: %w", err)
	}
	return r, nil
}

// open opens the first socket of each family and notes the groups to join.
func (r *Receiver) open() error {
	groups := r.cfg.Multicast || r.cfg.Discover
	var err error
	if groups {
		if r.names = r.cfg.Interfaces; len(r.names) > 0 {
			r.names, err = namedInterfaces(r.names)
		} else {
			r.names, err = multicastInterfaces()
		}
		if err != nil {
			return err
		}
	}
	at := r.cfg.Listen
	if groups {
		// A socket bound to one address hears no group on most systems.
		if at.Addr().Is4() {
			at = netip.AddrPortFrom(netip.IPv4Unspecified(), at.Port())
		} else {
			at = netip.AddrPortFrom(netip.IPv6Unspecified(), at.Port())
		}
	}
	e, err := listen(at, groups || at.Addr().IsUnspecified() || at.Port() == Port)
	if err != nil {
		return err
	}
	r.sockets = append(r.sockets, e)
	if u, ok := e.conn.LocalAddr().(*net.UDPAddr); ok {
		a := u.AddrPort()
		r.local = netip.AddrPortFrom(a.Addr().Unmap(), a.Port())
	}
	if r.cfg.IP.has6() && !e.v6 {
		e6, err := listen(netip.AddrPortFrom(netip.IPv6Unspecified(), r.local.Port()), true)
		if err != nil {
			return err
		}
		r.sockets = append(r.sockets, e6)
	}
	if r.cfg.Discover {
		r.want(discoveryUniverse)
	}
	if r.cfg.Multicast {
		for _, u := range r.cfg.Universes {
			r.want(u)
		}
	}
	// Of the interfaces that were not named one may be of no use; it is tried again.
	if err := r.join(); err != nil && len(r.cfg.Interfaces) > 0 {
		return err
	}
	return nil
}

// LocalAddr is the address the receiver listens at, with the real port.
func (r *Receiver) LocalAddr() netip.AddrPort { return r.local }

// Run reads until ctx ends, then closes the sockets and returns nil. A
// Receiver runs once.
func (r *Receiver) Run(ctx context.Context) error {
	if !r.running.CompareAndSwap(false, true) {
		return errors.New("sACN input: a Receiver runs only once")
	}
	r.socketsMu.Lock()
	for _, e := range r.sockets {
		r.startReader(e)
	}
	r.socketsMu.Unlock()
	sweep := time.NewTicker(sweepEvery)
	defer sweep.Stop()
	rejoin := time.NewTicker(rejoinEvery)
	defer rejoin.Stop()
	for {
		select {
		case <-ctx.Done():
			r.closeAll()
			r.readers.Wait()
			return nil
		case <-sweep.C:
			r.change(func(now time.Time, res *result) { r.table.expire(now, res) })
		case <-rejoin.C:
			r.rejoin()
		}
	}
}

// Levels copies the merged look of u to dst and returns how many slots were
// ever given, and whether a source is live. When all sources have gone the last
// look stays, not live.
func (r *Receiver) Levels(u dmx.Universe, dst *[512]byte) (slots int, live bool) {
	slots, state := r.look(u, dst)
	return slots, state == BaseLive
}

func (r *Receiver) look(u dmx.Universe, dst *[512]byte) (int, BaseState) {
	r.mu.Lock()
	defer r.mu.Unlock()
	v := r.table.universes[u]
	if v == nil || v.slots == 0 {
		return 0, BaseNone
	}
	copy(dst[:v.slots], v.look[:])
	return v.slots, v.state
}

// Sources lists what is heard, those that went in the last half minute
// included, by universe and CID.
func (r *Receiver) Sources() []SourceInfo {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.table.infos()
}

// Listings is what sources announce by universe discovery.
func (r *Receiver) Listings() []Listing {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.table.listings.list()
}

// Refused counts the packets that were refused or dropped, by reason.
func (r *Receiver) Refused() map[Reason]uint64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	m := map[Reason]uint64{}
	for i, n := range r.table.refused {
		if n > 0 {
			m[Reason(i)] = n
		}
	}
	return m
}

// change runs f with the lock and tells what came of it without.
func (r *Receiver) change(f func(now time.Time, res *result)) {
	var res result
	r.mu.Lock()
	f(time.Now(), &res)
	r.mu.Unlock()
	r.tell(&res)
}

func (r *Receiver) tell(res *result) {
	for _, e := range res.events {
		r.notice(e)
	}
	if r.cfg.OnEvent != nil {
		for _, e := range res.events {
			r.cfg.OnEvent(e)
		}
	}
	if r.cfg.OnChange != nil {
		for _, u := range res.changed {
			r.cfg.OnChange(u)
		}
	}
	if f := r.follower.Load(); f != nil {
		for _, u := range res.changed {
			(*f)(u)
		}
	}
}

func (r *Receiver) startReader(e *groupSocket) {
	r.readers.Add(1)
	go func() {
		defer r.readers.Done()
		r.read(e.conn)
	}()
}

// read takes datagrams from one socket until it is closed. An error that stays
// does not spin.
func (r *Receiver) read(c *net.UDPConn) {
	var buf [2048]byte
	wait := time.Duration(0)
	for {
		n, from, err := c.ReadFromUDPAddrPort(buf[:])
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			wait = min(max(2*wait, time.Millisecond), time.Second)
			time.Sleep(wait)
			continue
		}
		wait = 0
		r.change(func(now time.Time, res *result) { r.table.packet(now, from.Addr().Unmap(), buf[:n], res) })
	}
}
