package loop_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// bench is a lamp of three emitters, its meter and its journal, all in one, in
// virtual time. Light follows the wire after a delay of its own.
type bench struct {
	emitters [3]colorcalc.XYZ
	drive    solve.Drive
	at       time.Time
	response time.Duration // the light moves only then

	log      []string
	failKeep int // the journal fails at its n-th entry; 0: never
	kept     int
}

var errDisk = errors.New("disk full")

func (b *bench) keep(what string) error {
	b.kept++
	if b.failKeep > 0 && b.kept >= b.failKeep {
		return errDisk
	}
	b.log = append(b.log, what)
	return nil
}

func (b *bench) Set(_ context.Context, d solve.Drive) (loop.Arrival, error) {
	b.log = append(b.log, "set")
	time.Sleep(500 * time.Millisecond) // a ramp, in virtual time
	b.drive, b.at = slices.Clone(d), time.Now()
	return loop.Arrival{At: b.at, Sent: b.drive}, nil
}

func (b *bench) ReadAfter(ctx context.Context, settled time.Time) (feed.Reading, error) {
	const window = 100 * time.Millisecond
	if d := time.Until(settled); d > 0 {
		time.Sleep(d)
	}
	began := time.Now()
	time.Sleep(window)
	var sum colorcalc.XYZ
	if began.Sub(b.at) >= b.response { // else: still dark, a reading that must not count
		for i, c := range b.drive {
			sum = sum.Add(b.emitters[i].Scale(float64(c) / 65535))
		}
	} else {
		sum = colorcalc.XYZ{X: 1, Y: 5, Z: 1}
	}
	return feed.Reading{UV: sum.UV(), Y: sum.Y, HasY: true, Time: time.Now(), Integration: window}, nil
}

func (b *bench) Decided(d solve.Decision) error         { return b.keep("decided " + d.Action.String()) }
func (b *bench) Arrived(loop.Arrival) error             { return b.keep("arrived") }
func (b *bench) Read(feed.Reading, solve.Reading) error { return b.keep("read") }
func (b *bench) Accounted(a solve.Account) error        { return b.keep("accounted") }

func newBench() *bench {
	return &bench{response: 150 * time.Millisecond, emitters: [3]colorcalc.XYZ{
		colorcalc.UV{U: 0.505, V: 0.522}.XYZ(110), colorcalc.UV{U: 0.083, V: 0.566}.XYZ(285), colorcalc.UV{U: 0.172, V: 0.134}.XYZ(38)}}
}

func spec() solve.Spec {
	s := solve.Spec{Name: "bench", Kind: solve.Emitters, Curve: solve.Curve{Law: solve.Linear}}
	for i, e := range []solve.Emitter{
		{Name: "red", UV: colorcalc.UV{U: 0.50, V: 0.52}, Flux: 120},
		{Name: "green", UV: colorcalc.UV{U: 0.08, V: 0.57}, Flux: 260},
		{Name: "blue", UV: colorcalc.UV{U: 0.17, V: 0.13}, Flux: 40}} {
		s.Emitters = append(s.Emitters, e)
		s.Channels = append(s.Channels, solve.Channel{Name: s.Emitters[i].Name, Max: 65535, Hi: 65535})
	}
	return s
}

var target = colorcalc.XY{X: 0.345, Y: 0.352}.UV()

func (b *bench) match(t testing.TB, settle time.Duration) (loop.Result, error) {
	m, err := solve.New(spec(), solve.Target{UV: target}, nil, solve.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return loop.Match(context.Background(), m, b, b, b, loop.Arrival{}, loop.Options{Settle: settle, Start: time.Now(),
		Convert: func(r feed.Reading) (solve.Reading, error) {
			return solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: 0.0003}, nil
		}})
}

// The lamp lands, truly, and the journal holds every step before it is taken.
func TestALampLandsAndEveryStepIsKeptFirst(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		res, err := b.match(t, 200*time.Millisecond)
		if err != nil {
			t.Fatal(err)
		}
		if res.Final.Outcome != solve.Landed {
			t.Fatalf("%v: %s", res.Final.Outcome, res.Final.Reason)
		}
		r, err := b.ReadAfter(context.Background(), b.at.Add(time.Second))
		if err != nil {
			t.Fatal(err)
		}
		if d := r.UV.Dist(target); d > 0.0010 {
			t.Errorf("called landed, truly %.4f off", d)
		}
		for i, what := range b.log {
			if what == "set" && (i == 0 || b.log[i-1] != "decided move") {
				t.Errorf("moved after %q, not after the journal had the decision", b.log[i-1])
			}
		}
		if res.Steps < 2 || res.Readings < res.Steps {
			t.Errorf("%d steps, %d readings", res.Steps, res.Readings)
		}
	})
}

// When the journal can not keep a decision, the lamp does not move.
func TestWithoutAJournalNothingMoves(t *testing.T) {
	for n := 1; n <= 8; n++ {
		synctest.Test(t, func(t *testing.T) {
			b := newBench()
			b.failKeep = n
			_, err := b.match(t, 200*time.Millisecond)
			if !errors.Is(err, errDisk) {
				t.Fatalf("entry %d fails: %v", n, err)
			}
			sets, decided := 0, 0
			for _, what := range b.log {
				switch what {
				case "set":
					sets++
				case "decided move":
					decided++
				}
			}
			if sets > decided {
				t.Errorf("entry %d fails: %d moves, %d kept", n, sets, decided)
			}
		})
	}
}

// A reading that began before the light had settled is never asked for: with a
// dead time that is long enough the lamp's response is never seen.
func TestReadingsBeginAfterTheDeadTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		long, err := b.match(t, b.response)
		if err != nil || long.Final.Outcome != solve.Landed {
			t.Fatalf("%v %v", long.Final.Outcome, err)
		}
		short := newBench()
		res, err := short.match(t, 0)
		if err != nil {
			t.Fatal(err)
		}
		if res.Final.Outcome == solve.Landed && res.Readings <= long.Readings {
			t.Error("reading before the light has settled costs nothing: the test has lost what it watches")
		}
	})
}

// Errors of lamp and meter say where they happened.
func TestErrorsSayWhereTheyHappened(t *testing.T) {
	m, err := solve.New(spec(), solve.Target{UV: target}, nil, solve.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	_, err = loop.Match(context.Background(), m, brokenLamp{}, newBench(), newBench(), loop.Arrival{}, loop.Options{Start: time.Now()})
	if err == nil || err.Error() != "setting the lamp: no wire" {
		t.Errorf("got %v", err)
	}
}

type brokenLamp struct{}

func (brokenLamp) Set(context.Context, solve.Drive) (loop.Arrival, error) {
	return loop.Arrival{}, errors.New("no wire")
}

// ExampleMatch lands a simulated lamp and prints what it took.
func ExampleMatch() {
	b := newBench()
	b.response = 0
	m, _ := solve.New(spec(), solve.Target{UV: target}, nil, solve.DefaultOptions())
	res, _ := loop.Match(context.Background(), m, instant{b}, instant{b}, b, loop.Arrival{}, loop.Options{Start: time.Now(),
		Convert: func(r feed.Reading) (solve.Reading, error) {
			return solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: 0.0003}, nil
		}})
	fmt.Println(res.Final.Outcome, "within 0.0010:", res.Final.Distance < 0.0010)
	// Output: landed within 0.0010: true
}

// instant is a bench without waiting.
type instant struct{ b *bench }

func (i instant) Set(_ context.Context, d solve.Drive) (loop.Arrival, error) {
	i.b.drive, i.b.at = slices.Clone(d), time.Now()
	return loop.Arrival{At: i.b.at, Sent: i.b.drive}, nil
}

func (i instant) ReadAfter(context.Context, time.Time) (feed.Reading, error) {
	var sum colorcalc.XYZ
	for k, c := range i.b.drive {
		sum = sum.Add(i.b.emitters[k].Scale(float64(c) / 65535))
	}
	return feed.Reading{UV: sum.UV(), Y: sum.Y, HasY: true}, nil
}
