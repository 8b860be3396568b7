package sacn

import (
	"bytes"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"sync"
	"testing"
	"time"

	"trueup/dmx"
)

// sent is one datagram as it left, with its time.
type sent struct {
	at time.Time
	to netip.AddrPort
	b  []byte
}

func (p sent) universe() dmx.Universe { return dmx.Universe(be.Uint16(p.b[offUniverse:])) }
func (p sent) terminated() bool       { return p.b[offOptions]&optTerminated != 0 }
func (p sent) isData() bool           { return be.Uint32(p.b[offRootVector:]) == vectorData }

// recorder is a way out that keeps what it was given. A cable can be cut.
type recorder struct {
	mu     sync.Mutex
	all    []sent
	broken error // every write fails with it
	dead   bool  // dialling fails too
	dials  int
}

var errCut = errors.New("network is unreachable")

func (r *recorder) dial() (out, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.dials++
	if r.dead {
		return nil, errCut
	}
	return r, nil
}

func (r *recorder) WriteBatch(ms []message, _ time.Time) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.broken != nil {
		return 0, r.broken
	}
	for _, m := range ms {
		r.all = append(r.all, sent{time.Now(), m.Addr.(*net.UDPAddr).AddrPort(), bytes.Clone(m.Buffers[0])})
	}
	return len(ms), nil
}

func (r *recorder) Close() error { return nil }

func (r *recorder) set(broken error, dead bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.broken, r.dead = broken, dead
}

func (r *recorder) attempts() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.dials
}

func (r *recorder) packets() []sent {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]sent(nil), r.all...)
}

// of picks the data packets of one universe.
func of(all []sent, u dmx.Universe) []sent {
	var list []sent
	for _, p := range all {
		if p.isData() && p.universe() == u {
			list = append(list, p)
		}
	}
	return list
}

// legal checks what holds for every stream at all times: form, sequence, rate,
// keep-alive, and goodbye. It does not know why a packet was sent.
func legal(all []sent) error {
	last := map[dmx.Universe]sent{}
	times := map[dmx.Universe][]time.Time{}
	goodbyes := map[dmx.Universe]int{}
	for _, p := range all {
		if _, r := gate(p.b); r != Accepted {
			return fmt.Errorf("%v: %x", r, p.b)
		}
		if !p.isData() {
			continue
		}
		u := p.universe()
		if before, ok := last[u]; ok {
			if p.b[offSequence] != before.b[offSequence]+1 {
				return fmt.Errorf("universe %d: sequence %d after %d", u, p.b[offSequence], before.b[offSequence])
			}
			if gap := p.at.Sub(before.at); gap > time.Second {
				return fmt.Errorf("universe %d: silent for %v", u, gap)
			}
			if goodbyes[u] > 0 && !p.terminated() {
				return fmt.Errorf("universe %d: levels after a goodbye", u)
			}
		}
		if p.terminated() {
			if goodbyes[u]++; goodbyes[u] > 3 {
				return fmt.Errorf("universe %d: more than three goodbyes", u)
			}
		}
		last[u] = p
		times[u] = append(times[u], p.at)
	}
	for u, ts := range times {
		for i := 45; i < len(ts); i++ { // 46 packets never within a second: 44 and the tolerance at both ends
			if d := ts[i].Sub(ts[i-45]); d < time.Second {
				return fmt.Errorf("universe %d: 46 packets within %v", u, d)
			}
		}
	}
	return nil
}

func mustBeLegal(t testing.TB, all []sent) {
	t.Helper()
	if len(all) == 0 {
		t.Fatal("nothing was sent: nothing is shown to be legal")
	}
	if err := legal(all); err != nil {
		t.Error(err)
	}
}

func TestTheLegalityCheckRejects(t *testing.T) {
	good := func() []sent {
		var p dataPacket
		p.init(CID{1}, "x", 100, 0, 1)
		var all []sent
		for i := range 3 {
			p.buf[offSequence]++
			all = append(all, sent{time.Unix(0, 0).Add(time.Duration(i) * framePeriod), netip.AddrPort{}, bytes.Clone(p.bytes())})
		}
		return all
	}
	if err := legal(good()); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func([]sent){
		"sequence": func(a []sent) { a[1].b[offSequence]++ },
		"form":     func(a []sent) { a[1].b[0] = 9 },
		"silence":  func(a []sent) { a[2].at = a[2].at.Add(time.Second) },
		"goodbye":  func(a []sent) { a[1].b[offOptions] |= optTerminated },
	} {
		a := good()
		spoil(a)
		if legal(a) == nil {
			t.Errorf("%s: not seen", name)
		}
	}
}
