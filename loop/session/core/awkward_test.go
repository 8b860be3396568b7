package core

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// bench drives a core by hand: it answers as the plant does until somebody wants
// something else.
type bench struct {
	t    *testing.T
	c    *Core
	p    *plant
	d    Do
	fade time.Duration
	log  []Entry // all that it had to put on record
	// read may change a reading before it is told.
	read func(a Ask, r *Reading)
}

func newBench(t *testing.T, lamps int, change func(*Config)) *bench {
	cfg := Config{Work: Match, Plan: DefaultPlan(), Units: testUnits(lamps)}
	cfg.Plan.Target.Reference = "window"
	if change != nil {
		change(&cfg)
	}
	c, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return &bench{t: t, c: c, p: newPlant(cfg.Units), fade: 1500 * time.Millisecond, read: func(Ask, *Reading) {}}
}

func (b *bench) tell(e Event) {
	b.p.now = max(b.p.now, e.At)
	e.At = b.p.now
	b.d = b.c.Step(e)
	b.p.follow(&b.d)
	b.log = append(b.log, b.d.Entries...)
}

// answer tells the next thing that the world would: an arrival after a fade, a reading, time.
func (b *bench) answer() {
	heads := []int{}
	for h := range b.p.wished {
		heads = append(heads, h)
	}
	switch {
	case len(heads) > 0:
		h := slices.Min(heads)
		b.p.now += b.fade
		sent := slices.Clone(b.p.wished[h])
		b.p.stands[h] = sent
		delete(b.p.wished, h)
		b.tell(Event{Kind: Arrived, Head: h, Sent: sent, When: b.p.now})
	case len(b.p.asks) > 0:
		a := b.p.asks[0]
		b.p.asks = b.p.asks[1:]
		r := b.p.reading(a)
		b.read(a, r)
		b.tell(Event{Kind: Read, Ask: a.ID, Reading: r})
	default:
		b.tell(Event{Kind: Tick, At: b.p.now + time.Second})
	}
}

// until answers until a condition holds.
func (b *bench) until(what string, done func() bool) {
	b.t.Helper()
	for range 3000 {
		if done() {
			return
		}
		if b.c.Over() {
			b.t.Fatalf("over (%v) before %s", b.d.Err, what)
		}
		b.answer()
	}
	b.t.Fatalf("never: %s", what)
}

func (b *bench) over() bool { return b.c.Over() }

// A lamp that is skipped on its way up has not stayed dark: it is taken out again before
// another lamp of its probe is read.
func TestALampSkippedOnItsWayUpIsTakenOut(t *testing.T) {
	b := newBench(t, 3, nil)
	b.tell(Event{Kind: Begin})
	b.until("the first lamp fades in", func() bool { d := b.p.wished[0]; return d != nil && slices.Max(d) > 0 })
	b.p.stands[0] = b.p.wished[0] // the wire gets there, whoever waits for it
	delete(b.p.wished, 0)
	b.tell(Event{Kind: Skip})
	if !slices.Contains(b.d.Forget, 0) {
		t.Error("the wait for the skipped lamp goes on")
	}
	b.read = func(a Ask, _ *Reading) {
		lit := 0
		for h, d := range b.p.stands {
			if b.p.units[h+1].Info.Probe == a.Probe && slices.Max(d) > 0 {
				lit++
			}
		}
		if lit > 1 {
			t.Fatalf("%d lamps are lit at probe %q while it is read", lit, a.Probe)
		}
	}
	b.until("the end", b.over)
}

// A claim that lies between two passages is corrected by them, and by no later one: where
// the background goes afterwards says nothing about a reading of before.
func TestALaterPassageLeavesOldClaimsAlone(t *testing.T) {
	noise := scene.Noise{UV: 0.0003, LnY: 0.003}
	at := func(y float64) colorcalc.XYZ { return colorcalc.UV{U: 0.25, V: 0.52}.XYZ(y) }
	d := &dark{Background: scene.NewBackground(at(10), 5, noise, 0)}
	raw := colorcalc.UV{U: 0.2, V: 0.48}.XYZ(100).Add(at(10.5))
	k := &claim{light: raw.Sub(d.Mean()), under: d.Mean(), at: 10 * time.Second}
	k.uv = k.light.UV()
	var first colorcalc.UV
	for i, y := range []float64{11, 14, 20} {
		before := d.Mark()
		var z []colorcalc.XYZ
		var when []time.Duration
		for n := range 4 {
			z, when = append(z, at(y)), append(when, time.Duration(20*(i+1))*time.Second+time.Duration(n)*300*time.Millisecond)
		}
		d.Passage(z, noise, when)
		k.revise(d, before)
		if i == 0 {
			first = k.uv
		}
	}
	if k.uv != first {
		t.Errorf("later passages moved the claim by %.4f", k.uv.Dist(first))
	}
}

// A meter too noisy for the tolerance makes a run long, not endless: after each passage a
// lamp is read.
func TestANoisyMeterComesToAnEnd(t *testing.T) {
	b := newBench(t, 1, func(c *Config) { c.Plan.Tolerance = 0.0005 })
	b.fade, b.p.ambient = 3*time.Second, 150
	rng := rand.New(rand.NewPCG(4, 7))
	b.read = func(_ Ask, r *Reading) {
		r.UV.U += 0.002 * rng.NormFloat64()
		r.UV.V += 0.002 * rng.NormFloat64()
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
}

// A background that goes out while the run goes on is not taken off for ever, and not read for ever: no longer, where it is too dark for the
// meter then, than where it reads a little light.
func TestABackgroundThatGoesOut(t *testing.T) {
	gone := func(left func(r *Reading)) (darks int, b *bench) {
		b = newBench(t, 2, nil)
		b.fade, b.p.ambient = 3*time.Second, 60
		b.read = func(a Ask, r *Reading) {
			if a.Dark {
				if darks++; darks > 10 {
					left(r)
				}
			}
		}
		b.tell(Event{Kind: Begin})
		b.until("the end", b.over)
		return darks, b
	}
	little, _ := gone(func(r *Reading) { r.Y = 0.2 })
	none, b := gone(func(r *Reading) { r.TooDark, r.HasY, r.Y = true, false, 0 })
	if none > little+little/20 { // the two runs do not read at the same moments
		t.Errorf("%d readings of the dark, %d where a little light is left", none, little)
	}
	for probe, d := range b.c.background {
		if y := d.Mean().Y; y > 0.01 {
			t.Errorf("%.2f lux are still taken off at %s", y, probe)
		}
	}
}

// Who holds a run in its warm-up is not woken again and again.
func TestHeldInTheWarmUp(t *testing.T) {
	b := newBench(t, 1, func(c *Config) { c.Plan.WarmUp = time.Minute })
	b.tell(Event{Kind: Begin})
	b.until("the warm-up", func() bool { return b.d.Wake > 0 })
	b.tell(Event{Kind: Hold})
	b.tell(Event{Kind: Tick, At: b.p.now + 2*time.Minute})
	if b.d.Wake != 0 {
		t.Errorf("to be woken at %v, it is %v", b.d.Wake, b.p.now)
	}
	b.tell(Event{Kind: GoOn})
	if b.d.Wake == 0 {
		t.Error("nothing wakes the run after Hold")
	}
	b.until("the end", b.over)
}

// interposed brings a bench to a passage that a fixture waits for.
func interposed(t *testing.T) *bench {
	b := newBench(t, 2, func(c *Config) { c.Plan.SecondVisit = false }) // that leaves nothing of a first visit to a second
	b.tell(Event{Kind: Begin})
	b.until("a visit", func() bool { return b.c.lane.task.unit() != nil && b.c.ours(b.c.lane.task.unit()) && len(b.p.asks) > 0 })
	b.until("a passage in a visit", func() bool {
		if b.c.lane.waiting() == nil {
			b.p.now += time.Minute // what is known of the reference grows old
		}
		_, reading := b.c.lane.task.(*reference)
		return b.c.lane.waiting() != nil && reading
	})
	return b
}

// Skip in a passage leaves the fixture that waits for it.
func TestSkipWhileAFixtureWaits(t *testing.T) {
	b := interposed(t)
	u := b.c.lane.waiting().unit()
	b.tell(Event{Kind: Skip})
	if u.outcome == nil || u.outcome.Result != solve.Held {
		t.Errorf("%s: %+v", u.Info.Name, u.outcome)
	}
	b.until("the end", b.over)
}

// Stop in a passage ends the visit that waits for it: what was read there has an outcome.
func TestStopWhileAFixtureWaits(t *testing.T) {
	b := interposed(t)
	u := b.c.lane.waiting().unit()
	b.tell(Event{Kind: Stop, Why: "stopped by a person"})
	if u.outcome == nil || u.outcome.Result != solve.Held || !b.c.Over() {
		t.Errorf("%s: %+v", u.Info.Name, u.outcome)
	}
}

// A dead time is counted from the arrival: no passage comes in between.
func TestNoPassageInADeadTime(t *testing.T) {
	b := newBench(t, 1, nil)
	b.read = func(Ask, *Reading) {
		if v, ok := atFixture(b.c.lane.task).(*firstVisit); ok && v.phase == learningDeadTime {
			b.p.now += time.Minute
		}
		if w := b.c.lane.waiting(); w != nil && w.task.(*firstVisit).phase == learningDeadTime {
			t.Fatal("a passage while a dead time is measured")
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the first visit is over", func() bool { return b.c.units[1].outcome != nil })
}

// Nobody is asked for more readings of dark and reference in the middle of a lamp.
func TestAPersonWithAMeterIsNotSentBack(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.HandMeter = true })
	b.read = func(Ask, *Reading) {
		b.p.now += 2 * time.Minute
		if b.c.lane.waiting() != nil {
			t.Fatal("a lamp waits for a passage")
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
}

// In a dark room a lamp with every emitter out is too dark for its meter: that is no meter
// without a level.
func TestEmittersAreProbedInADarkRoom(t *testing.T) {
	b := newBench(t, 1, func(c *Config) {
		c.Work = Probe
		c.Probe = &ProbePlan{Fixture: "wash 0", Base: solve.Drive{0, 0, 0}, Levels: []solve.Drive{{9000, 0, 0}}, Readings: 2}
	})
	b.read = func(a Ask, r *Reading) {
		if a.Dark {
			r.TooDark, r.HasY, r.Y = true, false, 0
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	if b.d.Err != nil {
		t.Error(b.d.Err)
	}
}
