package sacn

import (
	"context"
	"net/netip"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"trueup/dmx"
)

// play runs a sender against a recorder in virtual time: script changes the
// look and returns when the run shall end.
func play(t *testing.T, cfg SenderConfig, frames Frames, script func(s *Sender, r *recorder)) []sent {
	t.Helper()
	var all []sent
	synctest.Test(t, func(t *testing.T) {
		cfg.CID, cfg.SourceName = CID{1}, "test"
		s := newSender(cfg)
		r := &recorder{}
		s.addLink("wire", r.dial, toGroup(group4)).group = true
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- s.Run(ctx, frames) }()
		script(s, r)
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		all = r.packets()
	})
	return all
}

func universes(u ...dmx.Universe) SenderConfig {
	return SenderConfig{Priority: 100, Universes: u, Multicast: true}
}

func TestAStillLookIsSaidFourTimesThenKeptAliveBelowASecond(t *testing.T) {
	var look show
	look.set(1, 1, 2, 3)
	all := play(t, universes(1), &look, func(*Sender, *recorder) { time.Sleep(10 * time.Second) })
	mustBeLegal(t, all)
	p := of(all, 1)
	var gaps []time.Duration
	n := 0
	for i := 1; i < len(p) && !p[i].terminated(); i++ {
		gaps = append(gaps, p[i].at.Sub(p[i-1].at))
		n = i
	}
	for i, g := range gaps {
		if i < 3 && (g < 22*time.Millisecond || g > 24*time.Millisecond) {
			t.Errorf("repeat %d after %v", i+1, g)
		}
		if i >= 3 && (g < 800*time.Millisecond || g > time.Second) {
			t.Errorf("keep-alive after %v: the standard wants 800..1000 ms", g)
		}
	}
	if n+1 < 13 || n+1 > 17 { // 4, then one each 0.8..1 s for 9.93 s
		t.Errorf("%d packets in ten seconds", n+1)
	}
}

func TestThreeGoodbyesEndEveryUniverseThatWasBegunAndNoOther(t *testing.T) {
	var look show
	look.set(1, 1)
	look.set(3, 3)
	all := play(t, universes(1, 2, 3), &look, func(*Sender, *recorder) { time.Sleep(3 * time.Second) })
	mustBeLegal(t, all)
	for u, want := range map[dmx.Universe]int{1: 3, 2: 0, 3: 3} {
		n := 0
		for _, p := range of(all, u) {
			if p.terminated() {
				n++
			}
		}
		if n != want {
			t.Errorf("universe %d: %d goodbyes, want %d", u, n, want)
		}
	}
	if len(of(all, 2)) != 0 {
		t.Error("a universe without levels was sent: that is a blackout")
	}
}

func TestALookThatStopsBeingSuppliedIsHeld(t *testing.T) {
	var look show
	look.set(1, 200, 100)
	all := play(t, universes(1), &look, func(*Sender, *recorder) {
		time.Sleep(time.Second)
		look.set(1) // nothing to say
		time.Sleep(5 * time.Second)
	})
	mustBeLegal(t, all)
	for _, p := range of(all, 1) {
		if len(p.b) != 128 || p.b[126] != 200 || p.b[127] != 100 {
			t.Fatalf("sent %v", p.b[126:])
		}
	}
}

// fade gives another level each time it is asked.
type fade struct{ n byte }

func (f *fade) Levels(_ time.Time, _ dmx.Universe, dst *[512]byte) int {
	f.n++
	dst[0] = f.n
	return 512
}

func TestAChangingLookIsSent44TimesASecondAndNoMore(t *testing.T) {
	var f fade
	all := play(t, universes(1), &f, func(s *Sender, _ *recorder) {
		for range 1000 { // somebody wakes it far too often
			time.Sleep(10 * time.Millisecond)
			s.Wake(1)
		}
	})
	mustBeLegal(t, all)
	if n := len(of(all, 1)); n < 440 || n > 448 {
		t.Errorf("%d packets in 10 s, want 440, the repeats and the goodbyes", n)
	}
}

func TestAChangeInAQuietUniverseGoesOutAtOnce(t *testing.T) {
	var look show
	look.set(1, 1)
	var woke time.Time
	all := play(t, universes(1), &look, func(s *Sender, _ *recorder) {
		time.Sleep(2*time.Second + 7*time.Millisecond)
		look.set(1, 77)
		woke = time.Now()
		s.Wake(1)
		time.Sleep(5 * time.Second)
	})
	mustBeLegal(t, all)
	for _, p := range of(all, 1) {
		if p.b[126] == 77 {
			if d := p.at.Sub(woke); d > time.Millisecond {
				t.Errorf("it took %v", d)
			}
			return
		}
	}
	t.Error("never sent")
}

func TestPreviewMarksEveryPacketSoThatNothingOnStageMoves(t *testing.T) {
	var look show
	look.set(1, 1)
	cfg := universes(1)
	cfg.Preview = true
	for _, p := range of(play(t, cfg, &look, func(*Sender, *recorder) { time.Sleep(time.Second) }), 1) {
		if p.b[112]&0x80 == 0 {
			t.Error("a packet without the preview bit")
		}
	}
}

func TestACutCableIsTriedAgainWithoutABurstAndEverythingIsSaidAgain(t *testing.T) {
	var look show
	look.set(1, 1)
	look.set(2, 1)
	var cut, back time.Time
	var dials int
	all := play(t, universes(1, 2), &look, func(s *Sender, r *recorder) {
		time.Sleep(time.Second)
		cut = time.Now()
		r.set(errCut, true)
		time.Sleep(5 * time.Second)
		look.set(1, 99)
		if l := s.Links()[0]; l.Up || !strings.Contains(l.Err, "unreachable") {
			t.Errorf("the state is %+v", l)
		}
		time.Sleep(5 * time.Second)
		dials = r.attempts()
		r.set(nil, false)
		back = time.Now()
		time.Sleep(10 * time.Second)
		if l := s.Links()[0]; !l.Up || l.Err != "" {
			t.Errorf("the state is %+v", l)
		}
	})
	if dials > 20 || dials < 4 { // four a second while receivers hold their look, then with a growing pause
		t.Errorf("%d attempts in ten seconds", dials)
	}
	var first time.Time
	n := 0
	for _, p := range of(all, 1) {
		if p.at.After(back) {
			if first.IsZero() {
				first = p.at
			}
			if p.at.Sub(first) < time.Second {
				n++
			}
			if p.b[126] != 99 {
				t.Error("an old look came back")
			}
		} else if p.at.After(cut.Add(time.Millisecond)) {
			t.Error("the recorder is not cut")
		}
	}
	if d := first.Sub(back); d > 3*time.Second {
		t.Errorf("back after %v", d)
	}
	if n < 4 || n > 8 {
		t.Errorf("%d packets in the first second after: want the look and its repeats, no burst", n)
	}
	var after []sent
	for _, p := range all {
		if p.at.After(back) {
			after = append(after, p)
		}
	}
	mustBeLegal(t, after)
}

func TestADeadWayOutHoldsUpNoOther(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newSender(SenderConfig{CID: CID{1}, Universes: []dmx.Universe{1}, Multicast: true})
		dead, good := &recorder{dead: true}, &recorder{}
		s.addLink("dead", dead.dial, toGroup(group4))
		s.addLink("good", good.dial, toGroup(group4))
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- s.Run(ctx, &fade{}) }()
		time.Sleep(10 * time.Second)
		cancel()
		<-done
		mustBeLegal(t, good.packets())
		if n := len(good.packets()); n < 440 {
			t.Errorf("%d packets", n)
		}
	})
}

func TestAfterSleepOfTheMachineNothingIsCaughtUp(t *testing.T) {
	for _, sleep := range []time.Duration{time.Hour, 500 * time.Millisecond, 100 * time.Millisecond} {
		st := &stream{universe: 1}
		st.pkt.init(CID{1}, "x", 100, 0, 1)
		var scratch [512]byte
		now := time.Unix(1000, 0)
		f := &fade{}
		st.pull(now, f, &scratch)
		now = now.Add(sleep)
		n := 0
		for range 1000 { // a thousand looks within one second after waking up
			if !st.due.After(now) && st.pull(now, f, &scratch) {
				n++
			}
			now = now.Add(time.Millisecond)
		}
		if n > 45 || n < 40 {
			t.Errorf("%d packets in the second after %v", n, sleep)
		}
	}
}

func TestUniversesAreAnnouncedEveryTenSecondsAndTheListIsEmptyAtTheEnd(t *testing.T) {
	var look show
	look.set(1, 1)
	look.set(9, 1)
	cfg := universes(9, 1, 5)
	cfg.SyncAddress = 7
	all := play(t, cfg, &look, func(*Sender, *recorder) {
		time.Sleep(12 * time.Second)
		look.set(5, 1) // one more universe begins: said once in between
		time.Sleep(18 * time.Second)
	})
	mustBeLegal(t, all)
	var lists []string
	var times []time.Duration
	for _, p := range all {
		if k, _ := gate(p.b); k == kindDiscovery {
			if p.to != netip.MustParseAddrPort("239.255.250.214:5568") {
				t.Errorf("announced to %v", p.to)
			}
			l := ""
			for i := 120; i < len(p.b); i += 2 {
				l += string(rune('0' + p.b[i+1]))
			}
			lists, times = append(lists, l), append(times, p.at.Sub(all[0].at).Round(100*time.Millisecond))
		}
	}
	if got := strings.Join(lists, " "); got != "179 179 1579 1579 1579 " && got != "179 179 1579 1579 " {
		t.Errorf("announced %q at %v", got, times)
	}
}

func TestASynchronizationPacketFollowsEachBatch(t *testing.T) {
	cfg := universes(1, 2)
	cfg.SyncAddress, cfg.SyncDelay = 7, 5*time.Millisecond
	var f fade
	all := play(t, cfg, &f, func(*Sender, *recorder) { time.Sleep(2 * time.Second) })
	mustBeLegal(t, all)
	data, syncs := 0, 0
	var lastData time.Time
	for _, p := range all {
		switch k, _ := gate(p.b); k {
		case kindData:
			data++
			lastData = p.at
			if be.Uint16(p.b[109:]) != 7 {
				t.Fatal("data without the synchronization address")
			}
		case kindSync:
			syncs++
			if p.b[44] != byte(syncs) || be.Uint16(p.b[45:]) != 7 || p.to != netip.MustParseAddrPort("239.255.0.7:5568") {
				t.Fatalf("sync %d to %v: % x", syncs, p.to, p.b[44:])
			}
			if d := p.at.Sub(lastData); d < 5*time.Millisecond || d > 7*time.Millisecond {
				t.Fatalf("sync %v after the data", d)
			}
		}
	}
	if syncs < 80 || syncs < data/2-4 {
		t.Errorf("%d sync packets for %d data packets", syncs, data)
	}
}

func TestAWrongConfigurationIsRefusedWithTheReason(t *testing.T) {
	good := func() SenderConfig {
		return SenderConfig{CID: CID{1}, Universes: []dmx.Universe{1}, Unicast: []netip.AddrPort{netip.MustParseAddrPort("127.0.0.1:9")}}
	}
	if _, err := NewSender(good()); err != nil {
		t.Fatal(err)
	}
	for say, spoil := range map[string]func(*SenderConfig){
		"CID":                   func(c *SenderConfig) { c.CID = CID{} },
		"priority 201":          func(c *SenderConfig) { c.Priority = 201 },
		"no universe":           func(c *SenderConfig) { c.Universes = nil },
		"universe 64000":        func(c *SenderConfig) { c.Universes = []dmx.Universe{64000} },
		"twice":                 func(c *SenderConfig) { c.Universes = []dmx.Universe{1, 1} },
		"nowhere":               func(c *SenderConfig) { c.Unicast = nil },
		"one receiver":          func(c *SenderConfig) { c.Unicast = []netip.AddrPort{netip.MustParseAddrPort("239.255.0.1:5568")} },
		"synchronization addre": func(c *SenderConfig) { c.SyncAddress = 64214 },
		"no such network inter": func(c *SenderConfig) { c.Multicast, c.Interfaces = true, []string{"none9"} },
	} {
		c := good()
		spoil(&c)
		if _, err := NewSender(c); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("got %v, want it to say %q", err, say)
		}
	}
}

// The addresses of 9.3: the group carries the universe in its last two bytes.
func TestGroupsAreThoseOfTheStandard(t *testing.T) {
	for u, want := range map[uint16][2]string{1: {"239.255.0.1", "ff18::8300:1"}, 63999: {"239.255.249.255", "ff18::8300:f9ff"},
		discoveryUniverse: {"239.255.250.214", "ff18::8300:fad6"}} {
		if group4(u) != netip.MustParseAddr(want[0]) || group6(u) != netip.MustParseAddr(want[1]) {
			t.Errorf("universe %d: %v %v", u, group4(u), group6(u))
		}
	}
}

// faders is a look in which a desk fades slot 1 and we move slot 2.
type faders struct {
	show
	ours byte
}

func (f *faders) Levels(now time.Time, u dmx.Universe, dst *[512]byte) int {
	n := f.show.Levels(now, u, dst)
	f.ours++
	dst[1] = f.ours
	return n
}

// Desks of 30 to 44 frames a second, with jitter, while slots of ours move too.
func TestNoStepOfADeskFallsBetweenTwoTicks(t *testing.T) {
	for _, rate := range []int{30, 33, 40, 43, 44} {
		var f faders
		f.set(1, 0, 0)
		var times []time.Time
		all := play(t, universes(1), &f, func(s *Sender, _ *recorder) {
			time.Sleep(time.Second + 9*time.Millisecond)
			start := time.Now()
			for n := 1; n <= 250; n++ {
				jitter := time.Duration(n*7919%1000-500) * time.Microsecond // up to half a millisecond either way
				time.Sleep(time.Until(start.Add(time.Duration(n) * time.Second / time.Duration(rate)).Add(jitter)))
				f.set(1, byte(n), 0)
				s.Wake(1)
				times = append(times, time.Now())
			}
			time.Sleep(time.Second)
		})
		mustBeLegal(t, all)
		at := map[byte]time.Time{}
		for _, p := range of(all, 1) {
			if _, ok := at[p.b[126]]; !ok {
				at[p.b[126]] = p.at
			}
		}
		worst := time.Duration(0)
		var delays []time.Duration
		for n := 1; n <= 250; n++ {
			out, ok := at[byte(n)]
			if !ok {
				t.Errorf("%d a second: step %d of the desk was lost", rate, n)
				continue
			}
			delays = append(delays, out.Sub(times[n-1]))
			worst = max(worst, out.Sub(times[n-1]))
		}
		slices.Sort(delays)
		if d := delays[len(delays)/2]; rate >= 40 && rate < 44 && d > time.Millisecond {
			t.Errorf("%d a second: half of the steps took more than %v: they wait for our ticks", rate, d)
		}
		if worst > framePeriod+time.Millisecond {
			t.Errorf("%d a second: a step took %v", rate, worst)
		}
		t.Logf("%d a second: worst delay %v", rate, worst)
	}
}

func TestTheLastChangeIsSaidInFullBeforeTheGoodbye(t *testing.T) {
	var look show
	look.set(1, 1)
	all := of(play(t, universes(1), &look, func(s *Sender, _ *recorder) {
		time.Sleep(2 * time.Second)
		look.set(1, 50)
		s.Wake(1)
		time.Sleep(time.Millisecond)
	}), 1)
	mustBeLegal(t, all)
	n := 0
	for _, p := range all {
		if p.b[126] == 50 && !p.terminated() {
			n++
		}
	}
	if n != 4 {
		t.Errorf("the last look was said %d times: want the change and three repeats", n)
	}
}

func TestOneMoreAnnouncementAnIntervalAndNotTwo(t *testing.T) {
	var a announcer
	start := time.Unix(1000, 0)
	var said []int
	for s := range 40 {
		if s == 0 || s == 3 || s == 5 || s == 14 {
			a.changed = true
		}
		if a.due(start.Add(time.Duration(s) * time.Second)) {
			said = append(said, s)
		}
	}
	// At 5 it changes again within the interval that begins at 0: that waits for 10.
	if want := []int{0, 3, 10, 14, 20, 30}; !slices.Equal(said, want) {
		t.Errorf("announced at %v s, want %v", said, want)
	}
}
