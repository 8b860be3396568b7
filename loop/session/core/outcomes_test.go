package core

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// window is the true light of the test rig's reference.
var window = colorcalc.XY{X: 0.3690, Y: 0.3600}.UV()

// refuse answers every wish of light for a head with a refusal.
func (b *bench) refuse(head int, why string) {
	if d := b.p.wished[head]; d != nil && slices.Max(d) > 0 {
		delete(b.p.wished, head)
		b.tell(Event{Kind: Refused, Head: head, Why: why})
	}
}

// ended runs the bench to its end; while is called before each answer.
func (b *bench) ended(while func()) *bench {
	b.t.Helper()
	b.tell(Event{Kind: Begin})
	b.until("the end", func() bool {
		if while != nil && !b.c.Over() {
			while()
		}
		return b.c.Over()
	})
	return b
}

// outcome is the last word on a fixture.
func (b *bench) outcome(name string) (o *Outcome) {
	for _, e := range b.log {
		if e.Fixture == name && e.Outcome != nil {
			o = e.Outcome
		}
	}
	if o == nil {
		b.t.Fatalf("%s has no outcome", name)
	}
	return o
}

// notes are all sentences of a kind of entry.
func (b *bench) notes(k Kind) string {
	var all []string
	for _, e := range b.log {
		if e.Kind == k && e.Note != "" {
			all = append(all, e.Note)
		}
	}
	return strings.Join(all, "\n")
}

func (b *bench) holds(what, text string, parts ...string) {
	b.t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			b.t.Errorf("%s: %q lacks %q", what, text, p)
		}
	}
}

// left is what a run left of a fixture, for a later one to verify.
func (b *bench) left(name string) Standing {
	o := b.outcome(name)
	return Standing{Fixture: name, Result: o.Result, Codes: o.After.Codes, UV: o.Final.UV}
}

// A lamp that does not take its levels is held with the reason; the others land all the same.
func TestALampThatRefusesIsHeldAndTheOthersLand(t *testing.T) {
	for _, work := range []Work{Match, Survey} {
		b := newBench(t, 3, func(c *Config) { c.Work = work })
		b.ended(func() { b.refuse(1, "slot 7 is locked") })
		if b.d.Err != nil {
			t.Fatalf("%s: %v", work, b.d.Err)
		}
		o := b.outcome("wash 1")
		if o.Result != solve.Held || o.Final != nil || o.Readings != 0 {
			t.Errorf("%s: %+v", work, o)
		}
		b.holds("reason", o.Reason, "slot 7 is locked")
		if work != Match {
			continue
		}
		for h, name := range map[int]string{0: "wash 0", 2: "wash 2"} {
			if o := b.outcome(name); !o.Landed() {
				t.Errorf("%s: %+v", name, o)
			}
			if slices.Max(b.p.stands[h]) > 0 && b.p.own(h).UV().Dist(window) > 0.0015 {
				t.Errorf("%s truly stands %.4f off", name, b.p.own(h).UV().Dist(window))
			}
		}
	}
}

// A neighbour that stays lit would be measured along: the lamp beside it is held, and the
// neighbour is named.
func TestANeighbourThatStaysLitIsNamed(t *testing.T) {
	b := newBench(t, 3, nil)
	b.ended(func() {
		d := b.p.wished[0]
		if d != nil && slices.Max(d) == 0 && b.c.units[1].tally.visited {
			delete(b.p.wished, 0)
			b.tell(Event{Kind: Refused, Head: 0, Why: "held by a limit"})
		}
	})
	b.holds("wash 2", b.outcome("wash 2").Reason, "wash 0 does not go dark", "held by a limit")
}

// What every lamp is judged by can not be left out: where it fails, the run ends and says why.
func TestWithoutAReferenceThereIsNoRun(t *testing.T) {
	lampAsReference := func(c *Config) { c.Plan.Target.Reference = "wash 0" }
	for want, c := range map[string]struct {
		change func(*Config)
		while  func(*bench)
		read   func(Ask, *Reading)
	}{
		"the reference: slot 7 is locked": {lampAsReference, func(b *bench) { b.refuse(0, "slot 7 is locked") }, nil},
		"the reference: no light":         {lampAsReference, nil, func(a Ask, r *Reading) { r.TooDark = !a.Dark }},
		"fading out for the background": {nil, func(b *bench) {
			if b.p.wished[0] != nil {
				delete(b.p.wished, 0)
				b.tell(Event{Kind: Refused, Head: 0, Why: "locked"})
			}
		}, nil},
		"warming up: wash 0: too hot": {func(c *Config) { c.Plan.WarmUp = time.Minute }, func(b *bench) { b.refuse(0, "too hot") }, nil},
	} {
		b := newBench(t, 2, c.change)
		if c.read != nil {
			b.read = c.read
		}
		b.ended(func() {
			if c.while != nil {
				c.while(b)
			}
		})
		if b.d.Err == nil || !strings.Contains(b.d.Err.Error(), want) || b.notes(KindStop) == "" {
			t.Errorf("got %v, want %q", b.d.Err, want)
		}
	}
}

// One lamp of the rig is the reference: the others come to it, and it is not moved.
func TestALampOfTheRigIsTheReference(t *testing.T) {
	b := newBench(t, 3, func(c *Config) { c.Plan.Target.Reference = "wash 1" })
	lit := slices.Clone(b.p.units[2].Lit)
	b.ended(func() {
		if d := b.p.wished[1]; d != nil && slices.Max(d) > 0 && !slices.Equal(d, lit) {
			t.Fatalf("the reference is moved to %v", d)
		}
	})
	b.p.stands[1] = lit
	for h, name := range map[int]string{0: "wash 0", 2: "wash 2"} {
		o := b.outcome(name)
		b.p.stands[h] = o.After.Codes
		if d := b.p.own(h).UV().Dist(b.p.own(1).UV()); !o.Landed() || d > 0.0015 {
			t.Errorf("%s: %v, truly %.4f off", name, o.Result, d)
		}
	}
}

// With people aloft no lamp is put out, and it is said what the readings then are.
func TestNoLampGoesOutOverPeople(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.KeepLit = true })
	b.ended(func() {
		for h, d := range b.p.wished {
			if slices.Max(d) == 0 {
				t.Fatalf("head %d is put out", h)
			}
		}
		for _, a := range b.p.asks {
			if a.Dark {
				t.Fatal("a background is read")
			}
		}
	})
	b.holds("note", b.notes(KindBackground), "people are aloft")
	for _, name := range []string{"wash 0", "wash 1"} {
		if o := b.outcome(name); !o.Landed() {
			t.Errorf("%s: %+v", name, o)
		}
	}
}

// A warm-up lights all lamps for its whole time before one is read.
func TestAWarmUpLightsEveryLamp(t *testing.T) {
	b := newBench(t, 3, func(c *Config) { c.Plan.WarmUp = 3 * time.Minute })
	since, read := time.Duration(0), false
	b.read = func(a Ask, r *Reading) {
		if a.Probe != "ref" && !a.Dark && !read {
			read = true
			if since == 0 || r.At-since < 3*time.Minute {
				t.Errorf("a lamp is read %v after all were lit", r.At-since)
			}
		}
	}
	b.ended(func() {
		if since == 0 && !slices.ContainsFunc([]int{0, 1, 2}, func(h int) bool { return b.p.own(h).Y == 0 }) {
			since = b.p.now
		}
	})
	b.holds("note", b.notes(KindLevel), "3 min")
}

// One lamp that has landed is no weakest of several: the common level is said to be what that one gives.
func TestTheLevelOfTheOnlyLampThatLandedIsSaidToBeIts(t *testing.T) {
	b := newBench(t, 2, func(cfg *Config) { cfg.Plan.Common = CommonEqual })
	b.ended(func() { b.refuse(1, "slot 7 is locked") })
	b.holds("note", b.notes(KindLevel), "as wash 0 gives, the only one that has landed")
}

// Brought to one level, lamps of different flux give the same light at the probe: as the
// weakest, as much as all can, or a figure. A figure that none can give is said so.
func TestOneLevelForAll(t *testing.T) {
	const share = 0.6
	for name, c := range map[string]struct {
		common CommonLevel
		lux    float64
		say    string
		want   func(weakest float64) (lo, hi float64) // lux, by what the weakest gave at first
	}{
		"equal":     {CommonEqual, 0, "as the weakest gives at its level, wash 1", func(l float64) (float64, float64) { return 0.97 * l, 1.03 * l }},
		"brightest": {CommonBrightest, 0, "the most that wash 1 can give", func(l float64) (float64, float64) { return 1.3 * l, 1.5 * l }},
		"lux":       {CommonLux, 40, "as asked for", func(float64) (float64, float64) { return 38.5, 41.5 }},
		"too much":  {CommonLux, 4000, "wash 1 gives", nil},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, 2, func(cfg *Config) { cfg.Plan.Common, cfg.Plan.Lux = c.common, c.lux })
			b.p.old = map[int]float64{1: share}
			b.ended(nil)
			b.holds("note", b.notes(KindLevel), "common level", c.say)
			if c.want == nil {
				return
			}
			first := 0.0
			for _, e := range b.log {
				if e.Kind == KindOutcome && e.Fixture == "wash 1" {
					first = e.Outcome.Final.Lux
				}
			}
			lo, hi := c.want(first)
			for h, name := range []string{"wash 0", "wash 1"} {
				o := b.outcome(name)
				b.p.stands[h] = o.After.Codes
				l := b.p.own(h)
				if !o.Landed() || l.UV().Dist(window) > 0.0015 || l.Y < lo || l.Y > hi {
					t.Errorf("%s: %v, truly %.4f off, %.1f lux, want %.1f to %.1f", name, o.Result, l.UV().Dist(window), l.Y, lo, hi)
				}
			}
		})
	}
}

// A meter that tells no level matches colour all the same. What it can not do is said: take
// a background off, bring lamps to one level.
func TestAMeterWithoutALevel(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.Common = CommonEqual })
	b.p.ambient = 0
	b.read = func(a Ask, r *Reading) {
		r.HasY, r.Y = false, 0
		if a.Dark {
			r.UV = window
		}
	}
	b.ended(nil)
	for h, name := range []string{"wash 0", "wash 1"} {
		o := b.outcome(name)
		b.p.stands[h] = o.After.Codes
		if d := b.p.own(h).UV().Dist(window); !o.Landed() || d > 0.0015 || o.Final.Lux != 0 {
			t.Errorf("%s: %+v, truly %.4f off", name, o, d)
		}
	}
	b.holds("background", b.notes(KindBackground), `probe "left" tells no level`, `probe "right" tells no level`)
	b.holds("level", b.notes(KindLevel), "no common level")
}

// A meter that has no name is "the meter" in all that is said.
func TestAMeterWithoutANameIsNotCalledByAnEmptyOne(t *testing.T) {
	for _, dark := range []bool{false, true} {
		b := newBench(t, 2, func(c *Config) {
			for i := range c.Units {
				c.Units[i].Info.Probe = ""
			}
		})
		b.read = func(a Ask, r *Reading) {
			if dark {
				r.TooDark, r.HasY, r.Y = true, false, 0
			}
		}
		b.ended(nil)
		for _, e := range b.log {
			if text := e.Note; strings.Contains(text, `""`) || e.Outcome != nil && strings.Contains(e.Outcome.Reason, `""`) {
				t.Errorf("said: %s %v", text, e.Outcome)
			}
		}
	}
}

// A lamp that the meter can not see, out of its field or out of lamps, is held after
// several readings with what to look at; it is never called landed.
func TestALampTooDarkForItsMeter(t *testing.T) {
	good := newBench(t, 2, nil).ended(nil)
	for _, work := range []Work{Match, Survey, Verify} {
		b := newBench(t, 2, func(c *Config) {
			c.Work = work
			c.Previous = []Standing{good.left("wash 0"), good.left("wash 1")}
		})
		b.read = func(a Ask, r *Reading) {
			if a.Probe == "right" {
				r.TooDark, r.HasY, r.Y = true, false, 0
			}
		}
		b.ended(nil)
		o := b.outcome("wash 1")
		if o.Result != solve.Held || o.Readings < 2 || o.Final != nil {
			t.Errorf("%s: %+v", work, o)
		}
		b.holds(string(work), o.Reason, `too dark for probe "right"`, "check its patch")
		if work != Survey && !b.outcome("wash 0").Landed() {
			t.Errorf("%s: the lamp that is seen: %+v", work, b.outcome("wash 0"))
		}
	}
}

// Verified the next morning: a lamp that stands is landed, one that has drifted is told
// from it, one that was out of reach and stands where it stood is out of reach.
func TestVerifyTellsWhatStandsFromWhatDrifted(t *testing.T) {
	yesterday := newBench(t, 2, nil).ended(nil)
	codes := yesterday.left("wash 0").Codes
	green := solve.Drive{0, 30000, 0}
	stood := testEmitters[1].UV()
	notYet := yesterday.left("wash 0")
	notYet.Result = solve.Unsettled
	redder := solve.Drive{codes[0] + codes[0]/10, codes[1], codes[2]}
	for name, c := range map[string]struct {
		earlier Standing
		want    solve.Outcome
		say     string
	}{
		"stands":                  {yesterday.left("wash 0"), solve.Landed, "fresh readings"},
		"drifted":                 {Standing{Fixture: "wash 0", Result: solve.Landed, Codes: redder, UV: window}, solve.Unsettled, "drifted"},
		"out of reach as it was":  {Standing{Fixture: "wash 0", Result: solve.OutOfReach, Codes: green, UV: stood}, solve.OutOfReach, "stands where it did"},
		"not landed, and far":     {Standing{Fixture: "wash 0", Result: solve.Unsettled, Codes: green, UV: stood}, solve.Unsettled, "had not landed"},
		"not landed, and within":  {notYet, solve.Landed, "though it had not landed"},
		"out of reach, elsewhere": {Standing{Fixture: "wash 0", Result: solve.OutOfReach, Codes: green, UV: window}, solve.Unsettled, "stands elsewhere"},
	} {
		b := newBench(t, 2, func(cfg *Config) { cfg.Work, cfg.Previous = Verify, []Standing{c.earlier} })
		b.ended(nil)
		o := b.outcome("wash 0")
		if o.Result != c.want || o.Readings < 2 {
			t.Errorf("%s: %+v", name, o)
		}
		b.holds(name, o.Reason, c.say)
	}
	for name, event := range map[string]Event{"skip": {Kind: Skip}, "refuse": {Kind: Refused, Why: "locked"}} {
		b := newBench(t, 2, func(cfg *Config) { cfg.Work, cfg.Previous = Verify, []Standing{yesterday.left("wash 0")} })
		told := false
		b.ended(func() {
			if d := b.p.wished[0]; !told && d != nil && slices.Max(d) > 0 {
				delete(b.p.wished, 0)
				told = true
				b.tell(event)
			}
		})
		if o := b.outcome("wash 0"); o.Result != solve.Held {
			t.Errorf("%s: %+v", name, o)
		}
	}
	b := newBench(t, 1, func(cfg *Config) { cfg.Work = Verify })
	b.ended(nil)
	if b.d.Err == nil {
		t.Error("nothing was verified, and nobody was told")
	}
}

// A colour outside what a lamp can give ends at the nearest that it can, with advice.
func TestAColourOutOfReachComesWithAdvice(t *testing.T) {
	for text, c := range map[string]struct {
		uv     colorcalc.UV
		advice string
	}{
		"a deep magenta": {colorcalc.UV{U: 0.36, V: 0.20}, "no white"},
		"candle, green":  {colorcalc.UV{U: 0.265, V: 0.562}, ""},
	} {
		b := newBench(t, 1, func(cfg *Config) { cfg.Plan.Target = Target{Text: text, UV: c.uv} })
		b.ended(nil)
		o := b.outcome("wash 0")
		if o.Result != solve.OutOfReach || o.Final == nil || o.Final.Delta < 0.001 {
			t.Errorf("%s: %+v", text, o)
			continue
		}
		if o.Advice == "" {
			t.Errorf("%s: no advice", text)
		}
		b.holds(text, o.Advice, c.advice)
		b.p.stands[0] = o.After.Codes
		if d := b.p.own(0).UV().Dist(o.Final.UV); d > 0.0015 {
			t.Errorf("%s: said to stand %.4f from where it stands", text, d)
		}
	}
}

// A value typed wrongly is taken back: the lamp is begun anew and lands by the right ones. At
// the reference there is nothing to begin anew but the run.
func TestAValueTakenBack(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Work, c.Plan.HandMeter = ByHand, true })
	reads := 0
	undone := false
	b.read = func(a Ask, r *Reading) {
		if a.Probe == "left" {
			if reads++; reads == 2 {
				r.UV = colorcalc.UV{U: 0.30, V: 0.51} // two digits swapped
			}
		}
	}
	b.ended(func() {
		if reads == 2 && !undone {
			undone = true
			b.tell(Event{Kind: Undo})
		}
	})
	o := b.outcome("wash 0")
	b.p.stands[0] = o.After.Codes
	if l := b.p.own(0).Add(colorcalc.XY{X: 0.40, Y: 0.39}.XYZ(1.5)); !o.Landed() || l.UV().Dist(window) > 0.0015 {
		t.Errorf("%+v, truly %.4f off", o, l.UV().Dist(window))
	}
	b.holds("note", b.notes(KindUndo), "begun anew")

	b = newBench(t, 1, func(c *Config) { c.Work, c.Plan.HandMeter = ByHand, true })
	b.tell(Event{Kind: Begin})
	b.answer()
	b.tell(Event{Kind: Undo})
	if !b.c.Over() || b.d.Err == nil {
		t.Error("a wrong value of the reference goes on")
	}
}

// What one lamp taught is there for the next of its type, in this run and in a later one: its
// dead time is measured once, and lamps that behave like their sisters cost no more readings.
func TestALampTeachesItsSisters(t *testing.T) {
	b := newBench(t, 4, func(c *Config) { c.Batches = map[string]*solve.Batch{} }).ended(nil)
	measured := map[string]bool{}
	for _, e := range b.log {
		if e.Kind == KindSettle && e.Reading != nil {
			measured[e.Fixture] = true
		}
	}
	if len(measured) != 1 || !measured["wash 0"] {
		t.Errorf("the dead time of one type was measured at %v", measured)
	}
	if w := b.c.DeadTimes()["wash@meter"]; w <= 0 || w > 2*time.Second {
		t.Errorf("a lamp that follows at once is waited for %v", w)
	}
	if l := b.c.Learnt()["wash"]; l == nil || l.Units != 4 {
		t.Errorf("learnt of %+v", l)
	}
	later := newBench(t, 4, func(c *Config) { c.Batches, c.DeadTimes = b.c.Learnt(), b.c.DeadTimes() }).ended(nil)
	looked := 0
	for _, e := range later.log {
		if e.Kind == KindSettle && e.Reading != nil {
			looked++
		}
	}
	if looked != 1 {
		t.Errorf("a known dead time is looked at in %d readings, want one", looked)
	}
	first, again := 0, 0
	for seed := range uint64(12) {
		run := func(change func(c *Config)) (b *bench, readings int) {
			b = newBench(t, 4, change)
			rng := rand.New(rand.NewPCG(seed, 7))
			b.read = func(_ Ask, r *Reading) {
				r.UV.U += 0.0003 * rng.NormFloat64()
				r.UV.V += 0.0003 * rng.NormFloat64()
			}
			b.tell(Event{Kind: Begin})
			b.until("the end", b.over)
			for i := range 4 {
				readings += b.outcome(fmt.Sprintf("wash %d", i)).Readings
			}
			return b, readings
		}
		b, x := run(func(c *Config) { c.Batches = map[string]*solve.Batch{} })
		_, y := run(func(c *Config) { c.Batches, c.DeadTimes = b.c.Learnt(), b.c.DeadTimes() })
		first, again = first+x, again+y
	}
	if again > first+first/20 { // of 48 lamps each, which take three readings, most of them for the meter's noise
		t.Errorf("%d readings with what their sisters taught, %d without", again, first)
	}
}

// A rehearsal sets each lamp once and reads nothing.
func TestARehearsalReadsNothing(t *testing.T) {
	b := newBench(t, 3, func(c *Config) { c.Work, c.Plan.Target = Rehearse, Target{Text: "white", UV: window} })
	lit := map[string]int{}
	b.ended(func() {
		if len(b.p.asks) > 0 {
			t.Fatal("a reading is asked for")
		}
		b.refuse(1, "slot 7 is locked")
	})
	for _, e := range b.log {
		if e.Kind == KindSent {
			lit[e.Fixture]++
		}
	}
	if lit["wash 0"] != 1 || lit["wash 1"] != 0 || lit["wash 2"] != 1 {
		t.Errorf("set %v", lit)
	}
	b.holds("wash 1", b.outcome("wash 1").Reason, "locked")
	none := newBench(t, 0, func(c *Config) { c.Work, c.Plan.Target = Rehearse, Target{Text: "white", UV: window} })
	none.ended(nil)
}

// Emitters are read one by one, and the lamp is left as it was found: dark.
func TestEmittersAreReadOneByOne(t *testing.T) {
	plan := &ProbePlan{Fixture: "wash 0", Base: solve.Drive{0, 0, 0}, Levels: []solve.Drive{{20000, 0, 0}, {0, 20000, 0}}, Readings: 2}
	b := newBench(t, 2, func(c *Config) { c.Work, c.Probe = Probe, plan })
	b.ended(nil)
	var lux []float64
	for _, e := range b.log {
		if e.Kind == KindReading {
			lux = append(lux, e.Reading.RawLux)
		}
	}
	want := []float64{1.5, 1.5, 1.5 + 110*20000.0/65535, 1.5 + 110*20000.0/65535, 1.5 + 285*20000.0/65535, 1.5 + 285*20000.0/65535}
	if len(lux) != len(want) {
		t.Fatalf("read %v", lux)
	}
	for i := range want {
		if d := lux[i] - want[i]; d > 0.01 || d < -0.01 {
			t.Errorf("reading %d: %.2f lux, the plant gives %.2f", i, lux[i], want[i])
		}
	}
	if slices.Max(b.p.stands[0]) != 0 {
		t.Errorf("left at %v", b.p.stands[0])
	}
	for want, c := range map[string]struct {
		while func(*bench)
		read  func(Ask, *Reading)
	}{
		"tells no level": {nil, func(_ Ask, r *Reading) { r.HasY, r.Y = false, 0 }},
		"wash 0: locked": {func(b *bench) { b.refuse(0, "locked") }, nil},
	} {
		b := newBench(t, 2, func(c *Config) { c.Work, c.Probe = Probe, plan })
		if c.read != nil {
			b.read = c.read
		}
		b.ended(func() {
			if c.while != nil {
				c.while(b)
			}
		})
		if b.d.Err == nil || !strings.Contains(b.d.Err.Error(), want) {
			t.Errorf("got %v, want %q", b.d.Err, want)
		}
	}
}

// Skipped or refused on its second visit a lamp is held there; what the first visit found
// stays in the journal.
func TestASecondVisitCutShort(t *testing.T) {
	for name, event := range map[string]Event{"skip": {Kind: Skip}, "refuse": {Kind: Refused, Why: "locked"}} {
		b := newBench(t, 1, nil)
		cut := false
		b.ended(func() {
			if d := b.p.wished[0]; !cut && d != nil && slices.Max(d) > 0 {
				if v, ok := b.c.lane.task.(*secondVisit); ok && v.u.outcome != nil {
					cut = true
					delete(b.p.wished, 0)
					b.tell(event)
				}
			}
		})
		var first *Outcome
		for _, e := range b.log {
			if e.Kind == KindOutcome {
				first = e.Outcome
			}
		}
		if found := first.Landed() || first.Result == solve.Predicted; !cut || !found || b.outcome("wash 0").Result != solve.Held {
			t.Errorf("%s: cut %v, at first %v, now %v", name, cut, first.Result, b.outcome("wash 0").Result)
		}
	}
}

// A meter that falls silent, a wire that does not tell what it sends, and a fault end the run
// with their reason, and the lamp that was worked at is held.
func TestWhatEndsARun(t *testing.T) {
	for name, c := range map[string]struct {
		event func(b *bench) Event
		say   string
	}{
		"no reading": {func(b *bench) Event { return Event{Kind: NoReading, Ask: b.p.asks[0].ID, Why: "the cable is out"} }, "the cable is out"},
		"fault":      {func(*bench) Event { return Event{Kind: Fault, Why: "the wire is closed"} }, "the wire is closed"},
	} {
		b := newBench(t, 1, func(c *Config) { c.Plan.SecondVisit = false }) // else the first reading may end the visit
		b.tell(Event{Kind: Begin})
		b.until("the lamp is read", func() bool { return b.c.units[1].found != nil && len(b.p.asks) > 0 })
		b.tell(c.event(b))
		if !b.c.Over() || b.d.Err == nil || len(b.d.Wishes) > 0 {
			t.Fatalf("%s: %+v", name, b.d)
		}
		b.holds(name, b.d.Err.Error(), "wash 0", c.say)
		if o := b.outcome("wash 0"); o.Result != solve.Held || o.Final == nil {
			t.Errorf("%s: %+v", name, o)
		}
	}
	b := newBench(t, 1, nil)
	b.tell(Event{Kind: Begin})
	b.tell(Event{Kind: Arrived, Head: 0, Sent: solve.Drive{1}})
	if b.d.Err == nil || !strings.Contains(b.d.Err.Error(), "does not tell what it sends") {
		t.Errorf("%v", b.d.Err)
	}
}

// What a core can not work with is refused with its name, before anything is wished for.
func TestConfigsThatAreRefused(t *testing.T) {
	for want, spoil := range map[string]func(c *Config){
		"must be positive":                 func(c *Config) { c.Plan.Tolerance = 0 },
		"wash 0: a look has not one code":  func(c *Config) { c.Units[1].Rest = nil },
		"goes dark by parameter 9":         func(c *Config) { c.Units[1].Dark = []AxisCode{{Axis: 8}} },
		"are both head 0":                  func(c *Config) { c.Units[2].Head = 0 },
		`"moon" is no fixture`:             func(c *Config) { c.Plan.Target.Reference = "moon" },
		"it needs a colour":                func(c *Config) { c.Work = Rehearse },
		"nothing is said of what to probe": func(c *Config) { c.Work = Probe },
		`"window" is no fixture that is driven`: func(c *Config) {
			c.Work, c.Probe = Probe, &ProbePlan{Fixture: "window", Levels: []solve.Drive{{1}}, Readings: 1}
		},
		"a level to probe": func(c *Config) {
			c.Work, c.Probe = Probe, &ProbePlan{Fixture: "wash 0", Levels: []solve.Drive{{1}}, Readings: 1}
		},
		"no kind of run": func(c *Config) { c.Work = "dance" },
	} {
		cfg := Config{Work: Match, Plan: DefaultPlan(), Units: testUnits(2)}
		cfg.Plan.Target.Reference = "window"
		spoil(&cfg)
		if _, err := New(cfg); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// Lamps of no known type land all the same, each by itself.
func TestWithoutATypeNothingIsShared(t *testing.T) {
	b := newBench(t, 2, func(c *Config) {
		for i := range c.Units {
			c.Units[i].Type = ""
		}
	}).ended(nil)
	if len(b.c.Learnt())+len(b.c.DeadTimes()) > 0 {
		t.Errorf("shared: %v %v", b.c.Learnt(), b.c.DeadTimes())
	}
	for i := range 2 {
		if o := b.outcome(fmt.Sprint("wash ", i)); !o.Landed() {
			t.Errorf("%+v", o)
		}
	}
}
