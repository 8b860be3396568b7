package sacn

import (
	"net/netip"

	"github.com/rs/zerolog"

	"trueup/dmx"
)

// want notes that the groups of u shall be joined on every interface.
func (r *Receiver) want(u dmx.Universe) {
	if r.wanted[u] || len(r.wanted) >= MaxUniverses {
		return
	}
	r.wanted[u] = true
	for _, name := range r.names {
		if r.cfg.Listen.Addr().Is4() {
			r.wants = append(r.wants, membership{group4(uint16(u)), name})
		}
		if r.cfg.IP.has6() || r.cfg.Listen.Addr().Is6() {
			r.wants = append(r.wants, membership{group6(uint16(u)), name})
		}
	}
}

// join joins all wanted groups that are not joined yet. It opens more sockets
// as one fills up. It returns the first error; what fails is tried again later.
func (r *Receiver) join() error {
	r.socketsMu.Lock()
	defer r.socketsMu.Unlock()
	if r.closed {
		return nil
	}
	var first error
	for _, m := range r.wants {
		e, err := r.socketFor(m)
		if err == nil {
			err = e.join(m)
		}
		if err == nil {
			delete(r.joinErr, m)
			continue
		}
		tried := r.cfg.TryIPv6 && m.group.Is6() // an interface may well be without
		if first == nil && !tried {
			first = err
		}
		if r.joinErr[m] != err.Error() {
			r.joinErr[m] = err.Error()
			level := zerolog.WarnLevel
			if tried {
				level = zerolog.DebugLevel
			}
			r.cfg.Log.WithLevel(level).Err(err).Msg("sACN input: cannot listen there; trying again")
		}
	}
	return first
}

// socketFor finds the socket that holds m, or one with room, or opens another.
func (r *Receiver) socketFor(m membership) (*groupSocket, error) {
	v6 := m.group.Is6()
	var room *groupSocket
	for _, e := range r.sockets {
		if e.v6 != v6 {
			continue
		}
		if e.has(m) {
			return e, nil
		}
		if room == nil && len(e.joined) < groupsPerSocket {
			room = e
		}
	}
	if room != nil {
		return room, nil
	}
	at := netip.IPv4Unspecified()
	if v6 {
		at = netip.IPv6Unspecified()
	}
	e, err := listen(netip.AddrPortFrom(at, r.local.Port()), true)
	if err != nil {
		return nil, err
	}
	r.sockets = append(r.sockets, e)
	if r.running.Load() {
		r.startReader(e)
	}
	return e, nil
}

// rejoin joins what is announced, and joins again what an interface lost.
func (r *Receiver) rejoin() {
	if r.cfg.Discover && r.cfg.Multicast && len(r.cfg.Universes) == 0 {
		for _, l := range r.Listings() {
			for _, u := range l.Universes {
				r.want(u)
			}
		}
	}
	_ = r.join() // said in the log once, tried again in a moment
}

func (r *Receiver) closeAll() {
	r.socketsMu.Lock()
	defer r.socketsMu.Unlock()
	r.closed = true
	for _, e := range r.sockets {
		e.conn.Close()
	}
}
