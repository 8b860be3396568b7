package core

import (
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// lonely fails when a probe is read while another lamp than the one that is read is lit at it, or, with
// apart, while any other lamp is lit.
func lonely(b *bench, apart bool) func(Ask, *Reading) {
	return func(a Ask, _ *Reading) {
		if _, survey := b.c.laneOfAsk(a.ID).task.(*spillReading); survey || a.Probe == "ref" {
			return
		}
		b.t.Helper()
		var lit []string
		for _, u := range b.p.units {
			if u.Head >= 0 && (apart || u.Info.Probe == a.Probe) && b.p.own(u.Head).Y > 0 {
				lit = append(lit, u.Info.Name)
			}
		}
		if len(lit) > 1 || a.Dark && len(lit) > 0 {
			b.t.Fatalf("probe %s is read, background %v, with %v lit", a.Probe, a.Dark, lit)
		}
	}
}

// breaksOffAndGoesOn stops the run, goes on with it two minutes later in another process, and answers to its end.
func (b *bench) breaksOffAndGoesOn() {
	b.tell(Event{Kind: Stop, Why: "by a person"})
	broke := b.p.now
	clear(b.p.wished)
	b.p.asks = nil
	b.tell(Event{Kind: Resumed, At: broke + 2*time.Minute, When: broke})
	b.until("the end", b.over)
}

// exchanges answers until a lane waits for one lamp of its probe to go out and for another to come up.
func (b *bench) exchanges() (out, in *unit) {
	b.until("one lamp goes out and another comes up", func() bool {
		for _, l := range b.c.lanes {
			if len(l.moving) == 2 && l.lead != nil && l.moving[0] != l.lead && l.moving[0].Info.Probe == l.lead.Info.Probe {
				out, in = l.moving[0], l.lead
				return slices.Max(b.p.stands[out.Head]) > 0 && slices.Max(b.p.stands[in.Head]) == 0
			}
		}
		return false
	})
	return out, in
}

// A lamp that was going out when its lane's visit was begun anew is taken out before the next
// reading, though the same lamp is lit again.
func TestALampThatWasGoingOutAtAnUndoIsTakenOut(t *testing.T) {
	b := newBench(t, 6, func(c *Config) { c.Plan.Lanes = 2 })
	b.tell(Event{Kind: Begin})
	out, in := b.exchanges()
	b.c.lanes[0].since, b.c.lanes[1].since = time.Hour, time.Hour
	b.c.byProbe[in.Info.Probe].since = 0 // the person means this lane
	delete(b.p.wished, out.Head)         // its fade is slow, and after the undo nobody hears of it
	b.read = lonely(b, false)
	b.tell(Event{Kind: Undo})
	if !slices.Contains(b.d.Forget, out.Head) {
		t.Fatalf("the undo forgets heads %v, want %d among them", b.d.Forget, out.Head)
	}
	b.until("the end", b.over)
}

// A lamp that does not come up in the survey of spill has shown nothing: no lamp of another probe is read
// beside it. The others of its pattern are waited for.
func TestALampThatDoesNotComeUpInTheSurveyIsReadAlone(t *testing.T) {
	b := newBench(t, 6, func(c *Config) { c.Plan.Lanes = 2 })
	b.p.spill = 0.2
	b.tell(Event{Kind: Begin})
	lit := func() (n int) {
		for _, d := range b.p.wished {
			if slices.Max(d) > 0 {
				n++
			}
		}
		return n
	}
	for refused := 0; refused < 2; refused++ { // one lamp of each pattern, before any of it is up
		b.until("lamps come up for the survey", func() bool {
			_, survey := b.c.main.task.(*lighting)
			return survey && lit() == 3
		})
		head := -1
		for h, d := range b.p.wished {
			if slices.Max(d) > 0 && (head < 0 || h < head) {
				head = h
			}
		}
		delete(b.p.wished, head)
		b.tell(Event{Kind: Refused, Head: head, Why: "another source"})
		b.until("the survey reads", func() bool { return len(b.p.asks) > 0 })
		if n := lit(); n > 0 {
			t.Fatalf("%d lamps are still coming up while the survey reads", n)
		}
	}
	b.read = lonely(b, true)
	b.until("the end", b.over)
	for _, u := range b.c.units[1:] {
		if !u.outcome.Landed() {
			t.Errorf("%s: %+v", u.Info.Name, u.outcome)
		}
	}
}

// A lamp that the desk has dark throws no light in the survey: that is not taken for none at all when it
// is matched.
func TestALampThatIsFoundDarkIsReadAlone(t *testing.T) {
	b := newBench(t, 6, func(c *Config) {
		c.Plan.Lanes = 2
		for i := range c.Units[1:] {
			c.Units[i+1].Found = slices.Clone(c.Units[i+1].Rest)
		}
	})
	b.p.spill = 0.2
	b.read = lonely(b, true)
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
}

// A lamp that is the reference is dark while the survey looks at what others throw.
func TestTheReferenceIsDarkInTheSurvey(t *testing.T) {
	b := newBench(t, 6, func(c *Config) { c.Plan.Lanes, c.Plan.Target.Reference = 2, "wash 3" })
	surveyed := 0
	b.read = func(a Ask, _ *Reading) {
		if _, survey := b.c.laneOfAsk(a.ID).task.(*spillReading); !survey {
			return
		}
		if surveyed++; b.p.own(3).Y > 0 {
			t.Fatal("the reference is lit while the survey reads")
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	if surveyed == 0 {
		t.Error("there was no survey")
	}
}

// Wherever a run in lanes breaks off whose reference is one of the lamps, it goes on with one lamp lit at
// each probe that is read, the reference's too.
func TestARunInLanesThatIsResumedReadsEachLampAlone(t *testing.T) {
	for n := 30; n < 330; n += 6 {
		b := newBench(t, 4, func(c *Config) { c.Plan.Lanes, c.Plan.Target.Reference = 2, "wash 0" })
		b.p.spill = 0.2
		b.p.restless, b.p.ambient = true, 60
		b.read = lonely(b, false)
		b.tell(Event{Kind: Begin})
		for range n {
			if b.p.ambient *= 1.0005; b.c.Over() {
				return
			}
			b.answer()
		}
		b.breaksOffAndGoesOn()
	}
}

// Lamps of several lanes are exchanged at moments that lie 0.4 s apart: three changes of the light fit into
// any second of the flash rule.
func TestLanesExchangeLampsAtMomentsThatLieApart(t *testing.T) {
	b := newBench(t, 12, fourProbes)
	b.fade = 30 * time.Millisecond
	b.tell(Event{Kind: Begin})
	last := -time.Hour
	b.until("the end", func() bool {
		if _, visits := b.c.main.task.(*together); visits {
			for _, w := range b.d.Wishes {
				if slices.Max(w.Codes) == 0 || slices.Max(b.p.stands[w.Head]) > 0 || b.p.now == last {
					continue
				}
				if b.p.now-last < 400*time.Millisecond {
					t.Fatalf("a lamp comes up at %s, another did at %s", b.p.now, last)
				}
				last = b.p.now
			}
		}
		return b.over()
	})
}

// A lamp is not lit beside one that it disturbs, nor beside one that disturbs it, where only one of
// both throws light on the other's probe.
func TestOneOfTwoLampsThatDisturbsTheOtherIsEnoughToKeepThemApart(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.Lanes = 2 })
	left, right := b.c.units[1], b.c.units[2]
	white := colorcalc.UV{U: 0.2, V: 0.48}
	left.own, right.own = white.XYZ(100), white.XYZ(100)
	for _, s := range []struct {
		toLeft, toRight float64
		may             bool
	}{{0, 0, true}, {10, 0, false}, {0, 10, false}, {10, 10, false}} {
		b.c.spill = spill{}
		b.c.spill.put(right.Info.Name, "left", white.XYZ(s.toLeft))
		b.c.spill.put(left.Info.Name, "right", white.XYZ(s.toRight))
		l, r := b.c.byProbe["left"], b.c.byProbe["right"]
		l.lit, l.task = left, &firstVisit{u: left}
		if may := b.c.mayLight(r, right, nil); may != s.may {
			t.Errorf("with %g %% on the left and %g %% on the right probe: may be lit is %v, want %v", s.toLeft, s.toRight, may, s.may)
		}
	}
}

// A lamp that its lane goes back to, and that stands as it stood then, is not read beside others of its
// probe that the survey of spill has left lit.
func TestALampThatIsGoneBackToIsReadAlone(t *testing.T) {
	for n := 30; n < 330; n += 6 {
		b := newBench(t, 6, func(c *Config) {
			c.Work, c.Plan.Lanes = Verify, 2
			for i := range c.Units[1:] {
				u := &c.Units[i+1]
				u.Settle, u.SettleKnown = time.Second, true
				c.Previous = append(c.Previous, Standing{Fixture: u.Info.Name, Result: solve.Landed, Codes: solve.Drive{30000, 20000, 9000}, UV: colorcalc.UV{U: 0.22, V: 0.49}})
			}
		})
		b.read = lonely(b, false)
		b.tell(Event{Kind: Begin})
		for range n {
			if b.c.Over() {
				return
			}
			b.answer()
		}
		b.breaksOffAndGoesOn()
	}
}

// A lane whose meter was silent when the dark was to be read goes on to its lamp: it is heard there, and the
// dark is read after that. The run does not stand still again and again for a dark that nobody reads.
func TestADarkThatASilentMeterLeftOutIsNotWaitedForAgainAndAgain(t *testing.T) {
	b := newBench(t, 4, func(c *Config) { c.Plan.Lanes, c.Plan.SilenceLimit = 2, time.Hour })
	b.tell(Event{Kind: Begin})
	l := b.c.byProbe["left"]
	b.until("a lamp comes up", func() bool { return !b.c.unmeasured() && l.lit != nil && len(l.moving) > 0 })
	l.mute, l.silent = b.p.now, "left" // it has been silent, and nobody has asked it since
	b.c.background["left"].wanted = true
	b.until("the end", b.over)
	if b.d.Err != nil || b.c.background["left"].wanted {
		t.Errorf("%v; the dark is still to be read: %v", b.d.Err, b.c.background["left"].wanted)
	}
}
