package sacn

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
)

// quietBase is a base without sockets, for virtual time.
func quietBase(own CID, us ...dmx.Universe) *Base {
	cfg := ReceiverConfig{Universes: us, OwnCID: own.marked()}
	return &Base{quietReceiver(cfg)}
}

// quietReceiver is a receiver without sockets that knows its own packets.
func quietReceiver(cfg ReceiverConfig) *Receiver {
	return &Receiver{cfg: cfg, table: newTable(cfg, CID.Ours, newOutbox(cfg.Universes))}
}

func (r *Receiver) hears(p []byte) {
	r.change(func(now time.Time, res *result) {
		r.table.expire(now, res)
		r.table.packet(now, nobody, p, res)
	})
}

func TestAnOverlayGoesOneAboveTheHighestOrRefusesWithTheReason(t *testing.T) {
	own, other := CID{5, 5, 5, 5, 5}, CID{6, 6, 6, 6, 6}.marked()
	ours := func(c CID) *desk {
		d := &desk{}
		d.pkt.init(c, "overlay \x1b[1m", 100, 0, 1)
		return d
	}
	type cast = map[*desk]func(*desk) []byte
	says := func(d *desk) []byte { return d.says(1, 2, 3) }
	for name, c := range map[string]struct {
		cast cast
		asks int
		want uint8
		err  string
	}{
		"nobody":                 {cast{}, OneAbove, 100, ""},
		"a desk at 100":          {cast{newDesk(1, 100, 1): says}, OneAbove, 101, ""},
		"two desks":              {cast{newDesk(1, 100, 1): says, newDesk(2, 150, 1): says}, OneAbove, 151, ""},
		"a desk at 40":           {cast{newDesk(1, 40, 1): says}, OneAbove, 41, ""},
		"a desk at 199":          {cast{newDesk(1, 199, 1): says}, OneAbove, 200, ""},
		"130 over 100":           {cast{newDesk(1, 100, 1): says}, 130, 130, ""},
		"130 over nobody":        {cast{}, 130, 130, ""},
		"130 over 130":           {cast{newDesk(1, 130, 1): says}, 130, 0, "priority 130 is not above it: receivers would go on showing that source. Write a priority of 131 to 200"},
		"130 under 140":          {cast{newDesk(1, 100, 1): says, newDesk(2, 140, 1): says}, 130, 0, `"desk 2" (10.0.0.9) sends at priority 140`},
		"a desk at 200":          {cast{newDesk(1, 200, 1): says}, OneAbove, 0, "sends at priority 200, and nothing can go above"},
		"0xDD at 180":            {cast{newDesk(1, 100, 1): func(d *desk) []byte { return d.ranks(0, 180) }}, OneAbove, 181, ""},
		"0xDD of 1 at 100":       {cast{newDesk(1, 100, 1): func(d *desk) []byte { return d.ranks(1) }}, OneAbove, 101, ""},
		"0xDD at 200":            {cast{newDesk(1, 100, 1): func(d *desk) []byte { return d.ranks(200) }}, OneAbove, 0, "nothing can go above"},
		"a preview at 200":       {cast{newDesk(1, 200, 1): func(d *desk) []byte { return d.packet(0, optPreview, []byte{1}) }}, OneAbove, 100, ""},
		"200 on another":         {cast{newDesk(1, 200, 2): says}, OneAbove, 100, ""},
		"another overlay":        {cast{ours(other): says}, OneAbove, 0, `"overlay \x1b[1m" (10.0.0.9) overlays it already`},
		"our own CID in use":     {cast{ours(own.marked()): says}, OneAbove, 0, "our own CID"},
		"a desk that left again": {cast{newDesk(1, 150, 1): func(d *desk) []byte { return d.leaves() }}, OneAbove, 100, ""},
	} {
		synctest.Test(t, func(t *testing.T) {
			b := quietBase(own, 1, 2)
			start := time.Now()
			go func() {
				for range 12 {
					for d, p := range c.cast {
						b.hears(p(d))
					}
					time.Sleep(250 * time.Millisecond)
				}
			}()
			got, err := b.Survey(t.Context(), []dmx.Universe{1}, c.asks)
			if d := time.Since(start); d < 3*time.Second {
				t.Errorf("%s: listened for %v only", name, d)
			}
			if got != c.want || (err == nil) != (c.err == "") || err != nil && !strings.Contains(err.Error(), c.err) {
				t.Errorf("%s: %d, %v; want %d, %q", name, got, err, c.want, c.err)
			}
			time.Sleep(time.Second)
		})
	}
}

func TestASurveyEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := quietBase(CID{1}, 1).Survey(ctx, []dmx.Universe{1}, OneAbove); err == nil {
			t.Error("no error")
		}
	})
}

func TestASourceThatComesAboveUsIsNamed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := quietBase(CID{5}, 1)
		low, high := newDesk(1, 100, 1), newDesk(2, 110, 1)
		b.hears(low.says(1))
		if a := b.Above(110); len(a) != 0 {
			t.Errorf("%+v", a)
		}
		b.hears(high.says(1))
		if a := b.Above(110); len(a) != 1 || a[0].Name != "desk 2" {
			t.Errorf("%+v", a)
		}
		b.hears(high.leaves())
		if a := b.Above(110); len(a) != 0 {
			t.Errorf("gone, and yet %+v", a)
		}
	})
}

func TestWhatTheBaseShowsAndHowFarToTrustIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := quietBase(CID{5}, 1)
		var woken []dmx.Universe
		stop := b.follow(func(u dmx.Universe) { woken = append(woken, u) })
		var look [512]byte
		if n, s := b.Look(1, &look); n != 0 || s != BaseNone {
			t.Error(n, s)
		}
		d := newDesk(1, 100, 1)
		b.hears(d.says(1, 2, 3))
		b.hears(d.says(1, 2, 3))
		b.hears(d.says(1, 2, 4))
		if n, s := b.Look(1, &look); n != 3 || s != BaseLive || look[2] != 4 {
			t.Error(n, s, look[:3])
		}
		if len(woken) != 2 {
			t.Errorf("woken %v: want once for each change", woken)
		}
		stop()
		time.Sleep(3 * time.Second)
		b.change(func(now time.Time, res *result) { b.table.expire(now, res) })
		if n, s := b.Look(1, &look); n != 3 || s != BaseLost || look[2] != 4 {
			t.Error(n, s, look[:3])
		}
		b.hears(d.says(9, 9, 9))
		b.hears(d.leaves())
		if n, s := b.Look(1, &look); n != 3 || s != BaseTerminated || look[2] != 9 {
			t.Error(n, s, look[:3])
		}
		if len(woken) != 2 {
			t.Error("woken after the end")
		}
	})
}

func TestAnOverlayThatDoesNotKnowItselfIsRefused(t *testing.T) {
	if _, err := NewBase(ReceiverConfig{Listen: loopback()}); err == nil || !strings.Contains(err.Error(), "CID") {
		t.Error(err)
	}
}

func TestOurMarkIsOnEveryPacketThatLeaves(t *testing.T) {
	var look show
	look.set(1, 1)
	for _, p := range play(t, universes(1), &look, func(*Sender, *recorder) { time.Sleep(time.Second) }) {
		if c := CID(p.b[22:38]); !c.Ours() {
			t.Fatalf("%v", c)
		}
	}
	// A UUID as others make it is not taken for ours: version 4, version 1, another's version 8, zero.
	for _, c := range []CID{{'l', 'e', 'v', 'l', 0, 0, 0x40, 0, 0x80}, {'l', 'e', 'v', 'l', 0, 0, 0x10, 0, 0x80}, {1, 2, 3, 4, 5, 6, 0x80, 7, 0x80}, {}} {
		if c.Ours() {
			t.Errorf("%v", c)
		}
	}
	if s := (CID{0x6c, 15: 0xff}).String(); s != "6c000000-0000-0000-0000-0000000000ff" {
		t.Error(s)
	}
}

func TestConflictsAfterTheSurveyAreSaidAndAFloodOfThemIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := quietBase(CID{5}, 1)
		var log bytes.Buffer
		b.cfg.Log = zerolog.New(&log)
		d := newDesk(1, 100, 1)
		spoken := make(chan struct{})
		go func() {
			defer close(spoken)
			for range 16 {
				b.hears(d.says(1))
				time.Sleep(250 * time.Millisecond)
			}
		}()
		if p, err := b.Survey(t.Context(), []dmx.Universe{1}, OneAbove); p != 101 || err != nil {
			t.Fatal(p, err)
		}
		if log.Len() != 0 {
			t.Errorf("said before there was anything to say: %s", &log)
		}
		b.hears(newDesk(2, 100, 1).says(1))
		b.hears(newDesk(3, 101, 1).says(1))
		time.Sleep(2 * time.Second)
		<-spoken
		b.hears(d.leaves())
		time.Sleep(time.Second)
		b.change(func(now time.Time, res *result) { b.table.expire(now, res) })
		var warned []string
		for _, l := range strings.Split(log.String(), "\n") {
			if strings.Contains(l, `"warn"`) {
				warned = append(warned, l)
			}
		}
		if len(warned) != 4 { // at or above; the goodbye; two that fell silent
			t.Fatalf("%d warnings:\n%s", len(warned), &log)
		}
		if !strings.Contains(warned[0], "desk 3") || !strings.Contains(warned[0], "at or above our priority") || !strings.Contains(warned[1], "ended its stream") {
			t.Errorf("%s", &log)
		}
		log.Reset()
		for i := range 1000 {
			x := newDesk(9, byte(100+i%2), 1)
			x.pkt.buf[offSequence] = byte(i)
			b.hears(x.says(1))
		}
		if n := strings.Count(log.String(), "\n"); n == 0 || n > noticesPerMinute {
			t.Errorf("%d lines of a flood", n)
		}
	})
}
