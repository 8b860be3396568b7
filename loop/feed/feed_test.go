package feed

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"trueup/loop/feed/instrument"
)

// ownText writes a line of our own, integrated over 200 ms up to end.
func ownText(seq int, end time.Time, x float64) string {
	return fmt.Sprintf(`{"probe":"mark","seq":%d,"time_unix_ms":%d,"integration_ms":200,"x":%.4f,"y":0.3290,"lux":100}`, seq, end.UnixMilli(), x)
}

// A reading that gathered light before the lamp stood still never reaches the
// loop, however late it arrives.
func TestOnlyLightAfterSettlingCounts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		start := time.Now()
		settled := start.Add(time.Second)
		ctx := t.Context()
		go func() {
			// The integration ends after 150 ms, 100 ms later the line arrives.
			for i := 0; w.later(ctx, 250*time.Millisecond, func() string { return ownText(i, time.Now().Add(-100*time.Millisecond), 0.3127) }); i++ {
			}
		}()
		r, err := f.NextAfter(t.Context(), "mark", settled)
		if err != nil {
			t.Fatal(err)
		}
		// Ends lie at 150, 400, ... 250k+150 ms; 200 ms of light: the first that began
		// at or after 1000 ms ended at 1400 ms, sequence 5.
		if want := start.Add(1400 * time.Millisecond); !r.Time.Equal(want) || r.Seq != 5 {
			t.Errorf("got sequence %d ended %v after the start, want 5 and 1.4s", r.Seq, r.Time.Sub(start))
		}
		if n := f.Status().SetAside[BeforeSettle]; n != 5 {
			t.Errorf("%d readings counted as too early, want 5", n)
		}
		if d := f.Status().Clock.Delay; d != 100*time.Millisecond {
			t.Errorf("measured delay %v, want 100ms", d)
		}
		next, err := f.NextAfter(t.Context(), "mark", settled)
		if err != nil || next.Seq != 6 {
			t.Errorf("second call gave sequence %d, %v; want 6: no reading is given out twice", next.Seq, err)
		}
	})
}

// Without a usable clock in the meter, the latest possible latency is taken off
// the arrival, so the loop errs on the late side.
func TestForeignClockFallsBackToLatency(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench", Latency: 300 * time.Millisecond})
		defer f.Close()
		settled := time.Now()
		ctx := t.Context()
		go func() {
			// Its clock stands in another time zone.
			for i := 0; w.later(ctx, 250*time.Millisecond, func() string { return ownText(i, time.Now().Add(-7*time.Hour), 0.3127) }); i++ {
			}
		}()
		r, err := f.NextAfter(t.Context(), "", settled)
		if err != nil {
			t.Fatal(err)
		}
		// Arrivals at 250, 500: began = arrival - 300 - 200 ms, so the one at 500 ms
		// is the first that began at 0.
		if r.Seq != 1 || r.Flags.Has(Timed) {
			t.Errorf("got sequence %d, flags %b; want 1 without the instrument's time", r.Seq, r.Flags)
		}
		if c := f.Status().Clock; !c.Stamped || c.Agrees {
			t.Errorf("clock status %+v, want stamped and not agreeing", c)
		}
	})
}

// Each kind of bad message is set aside under its own name, and good ones
// around it still count.
func TestBadMessagesAreSetAsideAndCounted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var words []string
		f, w := openWire(t, Config{Name: "bench", OnEvent: func(e Event) {
			if e.Aside != nil {
				words = append(words, string(e.Aside.Reason)+": "+e.Aside.Words)
			}
		}})
		defer f.Close()
		base := time.Now()
		at := func(ms int) int64 { return base.Add(time.Duration(ms) * time.Millisecond).UnixMilli() }
		send := func(format string, args ...any) { w.lines <- fmt.Sprintf(format, args...) }
		for i := range 5 {
			send("%s", ownText(i+1, base.Add(time.Duration(i)*time.Millisecond), 0.31))
		}
		send(`{"seq":5,"probe":"mark","time_unix_ms":%d,"x":0.31,"y":0.33}`, at(9))
		send(`{"seq":3,"probe":"mark","time_unix_ms":%d,"x":0.31,"y":0.33}`, at(2))
		send(`{"seq":10,"probe":"mark","time_unix_ms":%d,"x":0.31,"y":0.33}`, at(-60_000_000))
		send(`{"seq":11,"probe":"mark","x":0.9,"y":0.9}`)
		send(`{"seq":12,"probe":"mark","x":-0.2,"y":0.3}`)
		send(`{"seq":13,"probe":"mark","x":0.31,"y":0.33,"saturated":true}`)
		send(`{"seq":14,"probe":"mark"`)
		send(`{"seq":15,"probe":"mark","x":0.31}`)
		send(`{"seq":16,"probe":"mark","x":1e999,"y":0.3}`)
		send("%s", ownText(17, base.Add(20*time.Millisecond), 0.31))
		synctest.Wait()
		s := f.Status()
		want := map[Reason]uint64{Repeated: 1, OutOfOrder: 1, ClockSkewed: 1, OffDiagram: 2, Overdriven: 1, Unreadable: 3}
		for k, n := range want {
			if s.SetAside[k] != n {
				t.Errorf("%s: counted %d, want %d", k, s.SetAside[k], n)
			}
		}
		if len(s.SetAside) != len(want) {
			t.Errorf("counts %v\nwords %s", s.SetAside, strings.Join(words, "\n"))
		}
		if s.Accepted != 6 || s.State != Live {
			t.Errorf("accepted %d, state %v; want 6 and live", s.Accepted, s.State)
		}
	})
}

// A meter that was switched off and on counts from one again, and is believed.
func TestSequenceMayBeginAnew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		line := func(seq int) { w.lines <- fmt.Sprintf(`{"seq":%d,"x":0.31,"y":0.33}`, seq) }
		for i := 100; i < 103; i++ {
			line(i)
		}
		for i := 1; i < 6; i++ { // same link, no stamps: three climbing ones are needed
			line(i)
		}
		synctest.Wait()
		if s := f.Status(); s.Accepted != 6 || s.SetAside[OutOfOrder] != 2 {
			t.Errorf("accepted %d with %d out of order, want 6 and 2", s.Accepted, s.SetAside[OutOfOrder])
		}
		w.cut <- errUnplugged
		time.Sleep(time.Second)
		line(1)
		synctest.Wait()
		if s := f.Status(); s.Accepted != 7 || s.Links != 2 {
			t.Errorf("after the link came back: accepted %d over %d links, want 7 and 2", s.Accepted, s.Links)
		}
	})
}

// The states follow the link: waiting, live, stale, waiting with the reason,
// and attempts get rarer up to one in five seconds.
func TestStatesAndBackOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		synctest.Wait()
		if s := f.Status(); s.State != Waiting {
			t.Errorf("before any reading: %v", s.State)
		}
		w.lines <- ownText(1, time.Now(), 0.31)
		synctest.Wait()
		if s := f.Status(); s.State != Live {
			t.Errorf("after a reading: %v", s.State)
		}
		time.Sleep(6 * time.Second)
		if s := f.Status(); s.State != Stale || s.Why == "" {
			t.Errorf("after 6 s of silence: %v %q", s.State, s.Why)
		}
		w.cut <- errUnplugged
		synctest.Wait()
		if s := f.Status(); s.State != Waiting || s.Why != errUnplugged.Error() {
			t.Errorf("after the cut: %v %q", s.State, s.Why)
		}
		var gaps []time.Duration
		for range 9 {
			begin := time.Now()
			w.cut <- errUnplugged // taken when the next life begins
			gaps = append(gaps, time.Since(begin))
		}
		want := []time.Duration{100, 200, 400, 800, 1600, 3200, 5000, 5000, 5000}
		for i := range want {
			if gaps[i] != want[i]*time.Millisecond {
				t.Errorf("attempt %d after %v, want %v", i+1, gaps[i], want[i]*time.Millisecond)
			}
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if _, err := f.NextAfter(ctx, "", time.Now()); !errors.Is(err, context.DeadlineExceeded) || !strings.Contains(err.Error(), "cable pulled") {
			t.Errorf("a time-out must say why there was nothing: %v", err)
		}
	})
}

// A flood is cut down to the agreed rate and counted.
func TestRateIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench", MaxRate: 10})
		defer f.Close()
		for i := range 50 {
			w.lines <- fmt.Sprintf(`{"seq":%d,"x":0.31,"y":0.33}`, i)
		}
		synctest.Wait()
		if s := f.Status(); s.Accepted != 10 || s.SetAside[TooFast] != 40 {
			t.Errorf("accepted %d, dropped %d; want 10 and 40", s.Accepted, s.SetAside[TooFast])
		}
	})
}

// Closing wakes everybody who waits, and leaves no goroutine behind.
func TestCloseWakesWaiters(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, _ := openWire(t, Config{Name: "bench"})
		got := make(chan error)
		go func() { _, err := f.Next(context.Background()); got <- err }()
		synctest.Wait()
		f.Close()
		if err := <-got; !errors.Is(err, ErrClosed) {
			t.Errorf("got %v, want ErrClosed", err)
		}
	})
}

// One stamp from the future, or a clock that is set back, does not shut the
// feed up for what follows.
func TestAStampFromTheFutureDoesNoHarm(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		send := func(ahead time.Duration) {
			time.Sleep(100 * time.Millisecond)
			w.lines <- fmt.Sprintf(`{"time_unix_ms":%d,"x":0.31,"y":0.33}`, time.Now().Add(ahead).UnixMilli())
		}
		for range 4 {
			send(0)
		}
		send(48 * time.Hour)
		for range 4 {
			send(0)
		}
		synctest.Wait()
		if s := f.Status(); s.Accepted != 8 || s.SetAside[ClockSkewed] != 1 || !s.Clock.Agrees {
			t.Errorf("a stamp two days ahead: %d accepted, set aside %v", s.Accepted, s.SetAside)
		}
		for range 9 { // the meter's clock is set back by an hour, for good
			send(-time.Hour)
		}
		synctest.Wait()
		if s := f.Status(); s.Accepted < 12 || s.Clock.Agrees {
			t.Errorf("a clock set back: %d accepted, set aside %v", s.Accepted, s.SetAside)
		}
	})
}

// A light that a meter of colour temperature and Duv can not tell is set aside and counted; only who asks for a lamp that may give any colour is told of it.
func TestALightThatIsNoWhiteIsToldToWhoAsks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ins, err := instrument.Parse("meter.yaml", []byte("instrument: a\nread: {as: csv, separator: SPACE}\nfields: {cct: 1, duv: 2}\n"))
		if err != nil {
			t.Fatal(err)
		}
		f, w := openWire(t, Config{Name: "bench", Instrument: ins, Latency: time.Millisecond, Integration: 200 * time.Millisecond})
		defer f.Close()
		ctx := t.Context()
		go func() {
			for i := 0; w.later(ctx, 250*time.Millisecond, func() string {
				if i < 4 {
					return "4300 -0.0612"
				}
				return "4300 0.0020"
			}); i++ {
			}
		}()
		r, err := f.NextAnyAfter(ctx, "", time.Now())
		if err != nil || !r.Flags.Has(NotWhite) || !r.Time.Before(time.Now()) {
			t.Errorf("%+v, %v", r, err)
		}
		for name, next := range map[string]func(context.Context, string, time.Time) (Reading, error){"of light": f.NextAfter, "of the dark": f.NextDarkAfter} {
			if r, err := next(ctx, "", time.Now()); err != nil || r.Flags.Has(NotWhite) {
				t.Errorf("%s: %+v, %v", name, r, err)
			}
		}
		if s := f.Status(); s.SetAside[NoWhite] != 4 || s.Accepted < 2 {
			t.Errorf("%+v", s)
		}
	})
}
