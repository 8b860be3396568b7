package sacn

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"trueup/dmx"
)

// alone is a contention without sockets, for virtual time.
func alone(own CID, priority uint8, us ...dmx.Universe) *Contention {
	return &Contention{quietReceiver(ReceiverConfig{Universes: us, OwnCID: own.marked()}), priority}
}

// sweeps lets a receiver without sockets see time pass, as Run does.
func (r *Receiver) sweeps(ctx context.Context) {
	for ctx.Err() == nil {
		r.change(func(now time.Time, res *result) { r.table.expire(now, res) })
		time.Sleep(sweepEvery)
	}
}

// A run that means to have its universes to itself begins only where nobody is
// at its priority or above, nobody of our kind is at work, and nobody carries
// its CID. It names whom it met. The speakers keep the standard's slowest pace.
func TestARunAloneOnItsUniversesIsRefusedBesideAnother(t *testing.T) {
	own, other := CID{5, 5, 5, 5, 5}, CID{6, 6, 6, 6, 6}.marked()
	speaks := func(c CID, priority uint8, u dmx.Universe) *desk {
		d := &desk{}
		d.pkt.init(c, "stage left \x1b[1m", priority, 0, u)
		return d
	}
	says := func(d *desk) []byte { return d.says(1, 2, 3) }
	for name, c := range map[string]struct {
		who   *desk
		what  func(*desk) []byte
		below int
		err   string
	}{
		"a desk below":             {speaks(CID{1}, 99, 1), says, 1, ""},
		"a desk at ours":           {speaks(CID{1}, 100, 1), says, 0, `universe 1: source "stage left \x1b[1m" (CID 01000000-0000-0000-0000-000000000000, 10.0.0.9) sends at priority 100, we at 100`},
		"a desk above":             {speaks(CID{1}, 150, 1), says, 0, "sends at priority 150, we at 100"},
		"a desk at 200":            {speaks(CID{1}, 200, 1), says, 0, "nothing can go above"},
		"0xDD above":               {speaks(CID{1}, 50, 1), func(d *desk) []byte { return d.ranks(0, 120) }, 0, "sends at priority 120"},
		"0xDD below, packet above": {speaks(CID{1}, 120, 1), func(d *desk) []byte { return d.ranks(10, 10) }, 0, "sends at priority 120"},
		"another universe":         {speaks(CID{1}, 150, 2), says, 0, ""},
		"a preview":                {speaks(CID{1}, 150, 1), func(d *desk) []byte { return d.packet(0, optPreview, []byte{1}) }, 0, ""},
		"one that has left":        {speaks(CID{1}, 150, 1), func(d *desk) []byte { return d.leaves() }, 0, ""},
		"another run below":        {speaks(other, 20, 1), says, 0, "another run of our kind"},
		"our own CID":              {speaks(own.marked(), 20, 1), says, 0, "with our own CID"},
		"our own CID in a preview": {speaks(own.marked(), 100, 1), func(d *desk) []byte { return d.packet(0, optPreview, []byte{1}) }, 0, "with our own CID"},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := alone(own, 100, 1)
				ctx, stop := context.WithCancel(t.Context())
				go s.sweeps(ctx)
				go func() {
					for ctx.Err() == nil {
						s.hears(c.what(c.who))
						time.Sleep(time.Second)
					}
				}()
				start := time.Now()
				below, err := s.Survey(t.Context())
				stop()
				if d := time.Since(start); d != ListenTime {
					t.Errorf("listened for %v", d)
				}
				if len(below) != c.below || (err == nil) != (c.err == "") || err != nil && (!errors.Is(err, ErrContended) || !strings.Contains(err.Error(), c.err)) {
					t.Errorf("%+v, %v; want %d below, %q", below, err, c.below, c.err)
				}
				time.Sleep(2 * time.Second) // what still sleeps ends
			})
		})
	}
}

// While a run sends, what comes back of its own packets is no other source,
// nor is a bridge that passes them on. Who comes in above it is named within
// a second, and so is a second program with its CID, whatever that sends.
func TestARunIsToldOfWhoComesInAboveIt(t *testing.T) {
	own := CID{5, 5, 5, 5, 5}.marked()
	twin := &desk{}
	twin.pkt.init(own, "left", 100, 0, 1)
	elsewhere := &desk{}
	elsewhere.pkt.init(own, "left", 100, 0, 2)
	for name, c := range map[string]struct {
		comes func(s *Contention)
		every time.Duration
		want  string
	}{
		"nobody":       {nil, 0, ""},
		"a desk below": {func(s *Contention) { s.hears(newDesk(1, 99, 1).says(9)) }, 0, ""},
		"a run of our kind below": {func(s *Contention) {
			d := newDesk(1, 99, 1)
			copy(d.pkt.buf[offCID:], (CID{7}).markedBytes())
			s.hears(d.says(9))
		}, 0, ""},
		"a desk at ours":             {func(s *Contention) { s.hears(newDesk(1, 100, 1).says(9)) }, 0, `source "desk 1"`},
		"our CID, other levels":      {func(s *Contention) { s.hears(twin.says(9, 9)) }, time.Second, "with our own CID"},
		"our CID on our universe 2":  {func(s *Contention) { s.hears(elsewhere.says(9, 9)) }, time.Second, "with our own CID"},
		"our CID, one damaged frame": {func(s *Contention) { s.hears(twin.says(9, 9)) }, 0, ""},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := alone(own, 100, 1, 2)
				send := newSender(SenderConfig{CID: own, SourceName: "left", Priority: 100, Universes: []dmx.Universe{1}, Multicast: true, Beside: s.Receiver})
				back := &echo{to: s.Receiver}
				send.addLink("wire", back.dial, toGroup(group4))
				ctx, stop := context.WithCancel(t.Context())
				sent, told := make(chan error, 1), make(chan error, 1)
				go s.sweeps(ctx)
				go func() { sent <- send.Run(ctx, &fade{}) }()
				go func() { told <- s.Watch(ctx) }()
				time.Sleep(8 * time.Second) // longer than sequence numbers last
				select {
				case err := <-told:
					t.Fatalf("alone, and yet %v", err)
				default:
				}
				came := time.Now()
				for c.comes != nil && time.Since(came) < 2*time.Second {
					c.comes(s)
					if c.every == 0 {
						break
					}
					time.Sleep(c.every)
				}
				var err error
				select {
				case err = <-told:
				case <-time.After(2 * time.Second):
				}
				if (err == nil) != (c.want == "") || err != nil && (!errors.Is(err, ErrContended) || !strings.Contains(err.Error(), c.want)) {
					t.Errorf("%v, want %q", err, c.want)
				}
				stop()
				<-sent
				if back.n < 300 {
					t.Errorf("only %d packets came back: this shows nothing", back.n)
				}
				time.Sleep(2 * time.Second) // what still sleeps ends
			})
		})
	}
}

func (c CID) markedBytes() []byte { m := c.marked(); return m[:] }

// echo is a way out whose packets come back by multicast, a millisecond later
// and, from a bridge, once more.
type echo struct {
	to *Receiver
	n  int
}

func (e *echo) dial() (out, error) { return e, nil }
func (e *echo) Close() error       { return nil }

func (e *echo) WriteBatch(ms []message, _ time.Time) (int, error) {
	for _, m := range ms {
		p := bytes.Clone(m.Buffers[0])
		e.n++
		go func() {
			time.Sleep(time.Millisecond)
			e.to.hears(p)
			time.Sleep(40 * time.Millisecond)
			e.to.hears(p)
		}()
	}
	return len(ms), nil
}
