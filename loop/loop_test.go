package loop_test

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/feed"
	"trueup/loop/looptest"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// bench is a lamp of three emitters and its meter, both in one, in virtual
// time. Light follows the wire after a delay of its own.
type bench struct {
	emitters [3]colorcalc.XYZ
	drive    solve.Drive
	at       time.Time
	response time.Duration // the light moves only then

	began []time.Duration // of each reading, since the light was asked to move
}

func (b *bench) Set(_ context.Context, d solve.Drive) (time.Time, solve.Drive, error) {
	time.Sleep(500 * time.Millisecond) // a ramp, in virtual time
	b.drive, b.at = slices.Clone(d), time.Now()
	return b.at, b.drive, nil
}

func (b *bench) ReadAfter(ctx context.Context, settled time.Time) (feed.Reading, error) {
	const window = 100 * time.Millisecond
	if d := time.Until(settled); d > 0 {
		time.Sleep(d)
	}
	began := time.Now()
	b.began = append(b.began, began.Sub(b.at))
	time.Sleep(window)
	sum := colorcalc.XYZ{X: 1, Y: 5, Z: 1} // still dark, a reading that must not count
	if began.Sub(b.at) >= b.response {
		sum = b.light()
	}
	return feed.Reading{UV: sum.UV(), Y: sum.Y, HasY: true, Time: time.Now(), Integration: window}, nil
}

func newBench() *bench {
	return &bench{response: 150 * time.Millisecond, emitters: [3]colorcalc.XYZ{
		colorcalc.UV{U: 0.505, V: 0.522}.XYZ(110), colorcalc.UV{U: 0.083, V: 0.566}.XYZ(285), colorcalc.UV{U: 0.172, V: 0.134}.XYZ(38)}}
}

func spec() solve.Spec {
	s := solve.Spec{Name: "bench", Kind: solve.Emitters, Curve: law.Curve{Law: law.Linear}}
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

func visit(t testing.TB, settle time.Duration) *loop.Visit {
	m, err := solve.New(spec(), solve.Target{UV: target}, nil, solve.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return &loop.Visit{Match: m, Settle: settle}
}

func convert(r feed.Reading) solve.Reading {
	return solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: 0.0003}
}

func (b *bench) match(t testing.TB, settle time.Duration) *loop.Visit {
	v := visit(t, settle)
	if err := looptest.Drive(context.Background(), v, time.Now(), b, b, convert); err != nil {
		t.Fatal(err)
	}
	return v
}

// The lamp lands, truly.
func TestALampLands(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		v := b.match(t, 200*time.Millisecond)
		if v.Final.Outcome != solve.Landed {
			t.Fatalf("%v: %s", v.Final.Outcome, v.Final.Reason)
		}
		r, err := b.ReadAfter(context.Background(), b.at.Add(time.Second))
		if err != nil {
			t.Fatal(err)
		}
		if d := r.UV.Dist(target); d > 0.0010 {
			t.Errorf("called landed, truly %.4f off", d)
		}
		if v.Steps < 2 || v.Readings < v.Steps {
			t.Errorf("%d steps, %d readings", v.Steps, v.Readings)
		}
	})
}

// A reading that began before the light had settled is never asked for: with a
// dead time that is long enough the lamp's response is never seen.
func TestReadingsBeginAfterTheDeadTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench()
		long := b.match(t, b.response)
		if long.Final.Outcome != solve.Landed {
			t.Fatalf("%v", long.Final.Outcome)
		}
		for _, d := range b.began {
			if d < b.response {
				t.Errorf("a reading began %v after the move, the light stood still after %v", d, b.response)
			}
		}
		short := newBench()
		v := short.match(t, 0)
		if v.Final.Outcome == solve.Landed && v.Readings <= long.Readings {
			t.Error("reading before the light has settled costs nothing: the test has lost what it watches")
		}
	})
}

// The same events give the same answers, bit for bit: a visit can be played
// again from its record.
func TestTheSameEventsGiveTheSameAnswers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		type turn struct {
			now time.Duration
			h   loop.Happened
			n   loop.Next
		}
		var kept []turn
		v, b, start := visit(t, 150*time.Millisecond), newBench(), time.Now()
		var h loop.Happened
		for {
			was := h
			if h.Reading != nil {
				r := *h.Reading
				was.Reading = &r
			}
			now := time.Since(start)
			n := v.Step(now, h)
			kept = append(kept, turn{now, was, n})
			if n.Done {
				break
			}
			if n.Move != nil {
				at, sent, _ := b.Set(t.Context(), n.Move)
				h = loop.Happened{Arrived: &loop.Arrival{At: at.Sub(start), Sent: slices.Clone(sent)}}
				continue
			}
			raw, _ := b.ReadAfter(t.Context(), start.Add(n.Read))
			r := convert(raw)
			h = loop.Happened{Reading: &r}
		}
		again := visit(t, 150*time.Millisecond)
		for i, k := range kept {
			if n := again.Step(k.now, k.h); !reflect.DeepEqual(n, k.n) {
				t.Fatalf("turn %d: %+v, the first time %+v", i, n, k.n)
			}
		}
	})
}

// ExampleVisit lands a simulated lamp without any waiting and prints what came of it.
func ExampleVisit() {
	b := newBench()
	m, _ := solve.New(spec(), solve.Target{UV: target}, nil, solve.DefaultOptions())
	v := &loop.Visit{Match: m}
	var h loop.Happened
	for now := time.Duration(0); ; now += time.Second { // our own clock
		next := v.Step(now, h)
		switch {
		case next.Done:
			fmt.Println(v.Final.Outcome, "within 0.0010:", v.Final.Distance < 0.0010)
			return
		case next.Move != nil: // a lamp that is there at once
			b.drive = next.Move
			h = loop.Happened{Arrived: &loop.Arrival{At: now, Sent: next.Move}}
		default: // a meter without noise
			light := b.light()
			h = loop.Happened{Reading: &solve.Reading{UV: light.UV(), Y: light.Y, HasY: true, SigmaUV: 0.0003}}
		}
	}
	// Output: landed within 0.0010: true
}

func (b *bench) light() colorcalc.XYZ {
	var sum colorcalc.XYZ
	for i, c := range b.drive {
		sum = sum.Add(b.emitters[i].Scale(float64(c) / 65535))
	}
	return sum
}
