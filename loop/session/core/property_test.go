package core

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/profiles/law"
)

// plant is a small rig as the world outside the core has it: what stands on each
// head, what was asked for. It knows nothing of how the core decides.
type plant struct {
	units    []Unit
	stands   map[int]solve.Drive
	wished   map[int]solve.Drive
	asks     []Ask
	readers  map[uint64]bool // every ask that was ever made
	now      time.Duration
	ambient  float64         // lux
	covered  bool            // a reading was not of the light that is there
	restless bool            // the background wanders
	spill    float64         // share of a lamp's light that falls on the probes of others
	old      map[int]float64 // light that a head still gives, as a share; missing: all
}

var testEmitters = [3]colorcalc.XYZ{
	colorcalc.UV{U: 0.505, V: 0.522}.XYZ(110), colorcalc.UV{U: 0.083, V: 0.566}.XYZ(285), colorcalc.UV{U: 0.172, V: 0.134}.XYZ(38)}

// testUnits are n washes on two probes, and a window that is the reference.
func testUnits(n int) []Unit {
	units := []Unit{{Info: FixtureInfo{Name: "window", Fixed: true, Probe: "ref"}, Head: -1}}
	for i := range n {
		s := solve.Spec{Name: fmt.Sprint("wash ", i), Kind: solve.Emitters}
		s.Curve.Law = law.Linear
		for k, uv := range []colorcalc.UV{{U: 0.50, V: 0.52}, {U: 0.08, V: 0.57}, {U: 0.17, V: 0.13}} {
			s.Channels = append(s.Channels, solve.Channel{Name: fmt.Sprint(k), Max: 65535, Hi: 65535})
			s.Emitters = append(s.Emitters, solve.Emitter{Name: fmt.Sprint(k), UV: uv, Flux: []float64{120, 260, 40}[k]})
		}
		units = append(units, Unit{Info: FixtureInfo{Name: s.Name, Probe: []string{"left", "right"}[i%2]}, Head: i, Spec: s, Level: 0.4, Headroom: 1.5,
			Dark: []AxisCode{{Axis: 0}, {Axis: 1}, {Axis: 2}}, Rest: solve.Drive{0, 0, 0}, Lit: solve.Drive{65535, 65535, 65535},
			Settle: 100 * time.Millisecond, Type: "wash", Feed: "meter"})
	}
	return units
}

func newPlant(units []Unit) *plant {
	return &plant{units: units, stands: map[int]solve.Drive{}, wished: map[int]solve.Drive{}, readers: map[uint64]bool{}, ambient: 1.5}
}

// light is what a probe sees.
func (p *plant) light(probe string) colorcalc.XYZ {
	sum := colorcalc.XY{X: 0.40, Y: 0.39}.XYZ(p.ambient)
	if probe == "ref" {
		return colorcalc.XY{X: 0.3690, Y: 0.3600}.XYZ(300)
	}
	for _, u := range p.units {
		switch {
		case u.Head < 0:
		case u.Info.Probe == probe:
			sum = sum.Add(p.own(u.Head))
		default:
			sum = sum.Add(p.own(u.Head).Scale(p.spill))
		}
	}
	return sum
}

// own is what one head gives.
func (p *plant) own(head int) (sum colorcalc.XYZ) {
	for k, code := range p.stands[head] {
		if k == len(testEmitters) { // a dimmer
			sum = sum.Scale(float64(code) / 65535)
			continue
		}
		sum = sum.Add(testEmitters[k].Scale(float64(code) / 65535))
	}
	if share, ok := p.old[head]; ok {
		sum = sum.Scale(share)
	}
	return sum
}

// follow takes in what the core asked for.
func (p *plant) follow(d *Do) {
	p.asks = slices.DeleteFunc(p.asks, func(a Ask) bool { return slices.Contains(d.Drop, a.ID) })
	for _, w := range d.Wishes {
		p.wished[w.Head] = w.Codes
	}
	for _, a := range d.Asks {
		p.readers[a.ID] = true
		p.asks = append(p.asks, a)
	}
}

// reading answers an ask truly, with a little noise that repeats.
func (p *plant) reading(a Ask) *Reading {
	end := max(p.now, a.After) + 200*time.Millisecond
	p.now = end
	l := p.light(a.Probe)
	uv := l.UV()
	uv.U += 0.0003 * math.Sin(float64(a.ID)*1.7)
	uv.V += 0.0003 * math.Cos(float64(a.ID)*2.3)
	return &Reading{At: end, Integration: 200 * time.Millisecond, Probe: a.Probe, Seq: a.ID, UV: uv, Y: l.Y, HasY: true, Told: a.ID%3 != 0}
}

// anyEvent draws something that may happen next: answers to what was asked for,
// late and doubled ones, readings of impossible light, keys that a person presses.
func (p *plant) anyEvent(t *rapid.T) Event {
	p.now += time.Duration(rapid.IntRange(0, 900).Draw(t, "ms")) * time.Millisecond
	if p.restless {
		p.ambient = max(0.1, p.ambient*(1+0.001*float64(rapid.IntRange(-5, 5).Draw(t, "ambient"))))
	}
	e := Event{At: p.now}
	var heads []int
	for h := range p.wished {
		heads = append(heads, h)
	}
	slices.Sort(heads)
	switch k := rapid.IntRange(0, 99).Draw(t, "what"); {
	case k < 45 && len(heads) > 0:
		h := rapid.SampledFrom(heads).Draw(t, "head")
		e.Kind, e.Head, e.Sent, e.When = Arrived, h, slices.Clone(p.wished[h]), p.now
		p.stands[h] = e.Sent
		delete(p.wished, h)
	case k < 85 && len(p.asks) > 0:
		i := rapid.IntRange(0, len(p.asks)-1).Draw(t, "ask")
		e.Kind, e.Ask, e.Reading = Read, p.asks[i].ID, p.reading(p.asks[i])
		p.asks = slices.Delete(p.asks, i, i+1)
		fate := rapid.IntRange(0, 19).Draw(t, "fate")
		p.covered = p.covered || fate < 3
		switch fate {
		case 0: // a hand over the meter
			e.Reading.Y = 0.01
		case 1:
			e.Reading.TooDark, e.Reading.Y = true, 0
		case 2:
			e.Reading.UV = colorcalc.UV{U: 0.6, V: 0.01}
		}
		e.At = p.now
	case k < 88: // of an ask that was answered, dropped or never made
		e.Kind, e.Ask = Read, uint64(rapid.IntRange(0, 50).Draw(t, "stale"))
		if slices.ContainsFunc(p.asks, func(a Ask) bool { return a.ID == e.Ask }) {
			e.Ask = 0 // this one is waited for: the answer would be of another probe
		}
		e.Reading = p.reading(Ask{Probe: "left"})
	case k < 90:
		e.Kind, e.Head, e.Sent, e.When = Arrived, rapid.IntRange(-1, 9).Draw(t, "nobody"), solve.Drive{1, 2, 3}, p.now
	case k < 91:
		e.Kind, e.Head, e.Why = Refused, rapid.IntRange(0, 3).Draw(t, "head"), "held: no way"
	case k < 92:
		e.Kind, e.Why = Conflict, "another source"
	case k < 93:
		e.Kind = Skip
	case k < 94:
		e.Kind = Hold
	case k < 97:
		e.Kind = GoOn
	default:
		e.Kind = Tick
	}
	return e
}

// check holds one answer of the core to what may never happen.
func (p *plant) check(t *rapid.T, c *Core, e Event, d *Do, held bool) {
	if e.Kind != Tick && len(d.Entries) == 0 && !c.Over() {
		t.Fatalf("%s left no trace", e.Kind)
	}
	if e.Kind == Read && e.Reading != nil && !c.Over() {
		kept := false
		for _, n := range d.Entries {
			kept = kept || n.Reading != nil && (n.Reading.MeterSeq == e.Reading.Seq)
		}
		if !kept && d.Entries[0].Event.Reading != e.Reading {
			t.Fatal("a reading was lost")
		}
	}
	if held && len(d.Wishes)+len(d.Asks) > 0 {
		t.Fatalf("%d wishes and %d asks while a person holds the run", len(d.Wishes), len(d.Asks))
	}
	for _, w := range d.Wishes {
		u := p.units[w.Head+1]
		if u.Head != w.Head || len(w.Codes) != len(u.Spec.Channels) {
			t.Fatalf("a wish for head %d with %v", w.Head, w.Codes)
		}
	}
	if _, err := json.Marshal(d.Entries); err != nil {
		t.Fatalf("entries that the journal can not keep: %v", err)
	}
}

// alone fails when two lamps of one probe are lit while one of them is read, or two that
// disturb each other; the survey of spill lights more.
func (p *plant) alone(t *rapid.T, c *Core, a Ask) {
	beside := a.ID >= besideAsk
	if !beside {
		if _, survey := c.laneOfAsk(a.ID).task.(*spillReading); survey {
			return
		}
	}
	lit := 0
	for _, u := range p.units {
		if u.Head >= 0 && (u.Info.Probe == a.Probe || p.spill > 0 && !p.covered && !beside) && p.own(u.Head).Y > 0 {
			lit++
		}
	}
	if lit > 1 || a.Dark && lit > 0 {
		t.Fatalf("%d lamps are lit at probe %s, background %v", lit, a.Probe, a.Dark)
	}
}

// anyJob draws what a run is asked to do.
func anyJob(t *rapid.T) Config {
	works := []Work{Match, Survey, ByHand, Verify}
	cfg := Config{Work: rapid.SampledFrom(works).Draw(t, "work"), Plan: DefaultPlan(), Units: testUnits(rapid.IntRange(1, 4).Draw(t, "lamps"))}
	if rapid.Bool().Draw(t, "dimmers") {
		cfg.Units = dimmed(len(cfg.Units) - 1)
	}
	cfg.Plan.Target.Reference = "window"
	if cfg.Work == Match && rapid.Bool().Draw(t, "named") {
		cfg.Plan.Target = Target{Text: "4300 K", UV: colorcalc.XY{X: 0.3690, Y: 0.3600}.UV()}
	}
	stated := rapid.Bool().Draw(t, "stated")
	for i := range cfg.Units[1:] {
		cfg.Units[i+1].SettleKnown = stated
	}
	cfg.Plan.Lanes = rapid.IntRange(0, 2).Draw(t, "lanes")
	if cfg.Work == Verify {
		for _, u := range cfg.Units[1:] {
			cfg.Previous = append(cfg.Previous, Standing{Fixture: u.Info.Name, Result: solve.Landed, Codes: solve.Drive{30000, 20000, 9000, 65535}[:len(u.Rest)], UV: colorcalc.UV{U: 0.22, V: 0.49}})
		}
	}
	return cfg
}

// answer is what happens next in a world that answers as it should.
func (p *plant) answer(t *rapid.T, c *Core) Event {
	e := Event{Kind: Tick, At: p.now + time.Second}
	if p.restless {
		p.now += 700 * time.Millisecond
		p.ambient *= 1 + 0.004*math.Sin(p.now.Seconds()/9)
	}
	heads := []int{}
	for h := range p.wished {
		heads = append(heads, h)
	}
	switch {
	case len(heads) > 0:
		h := slices.Min(heads)
		e = Event{Kind: Arrived, At: p.now, Head: h, Sent: slices.Clone(p.wished[h]), When: p.now}
		p.stands[h] = e.Sent
		delete(p.wished, h)
	case len(p.asks) > 0:
		a := p.asks[0]
		if a.Probe != "ref" {
			p.alone(t, c, a)
		}
		e = Event{Kind: Read, Ask: a.ID, Reading: p.reading(a)}
		p.asks = p.asks[1:]
		e.At = p.now
	}
	return e
}

// playAgain fails unless a journal, as it is on disk, gives the same run.
func playAgain(t *rapid.T, journal []Entry) {
	text, err := json.Marshal(journal)
	if err != nil {
		t.Fatal(err)
	}
	var kept []Entry
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	if _, err := Replay(kept); err != nil {
		t.Fatal(err)
	}
}

// Whatever happens in whatever order, the core moves no light that it should not, loses
// no event, keeps to one lamp at a probe, and comes to an end once the world answers; and the
// same events give the same answers.
func TestNoOrderOfEventsLeadsAstray(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cfg := anyJob(t)
		c, err := New(cfg)
		if err != nil {
			t.Fatal(err)
		}
		first, err := clone(&cfg)
		if err != nil {
			t.Fatal(err)
		}
		journal := []Entry{{Seq: 1, Kind: KindRun, Run: &RunInfo{Version: JournalVersion, Core: first}}}
		p := newPlant(cfg.Units)
		if rapid.Bool().Draw(t, "restless") {
			p.restless, p.ambient = true, 60
		}
		p.spill = rapid.SampledFrom([]float64{0, 0.2}).Draw(t, "spill")
		held := false
		tell := func(e Event) {
			if e.Kind == Hold {
				held = true
			}
			if e.Kind == GoOn {
				held = false
			}
			d := c.Step(e)
			if !d.Done {
				p.check(t, c, e, &d, held)
			}
			p.follow(&d)
			for _, n := range d.Entries {
				n.Seq = uint64(len(journal)) + 1
				journal = append(journal, n)
			}
		}
		tell(Event{Kind: Begin})
		for range rapid.IntRange(0, 400).Draw(t, "events") {
			if c.Over() {
				break
			}
			tell(p.anyEvent(t))
		}
		// From here on the world answers as it should: the run must come to its end.
		tell(Event{Kind: GoOn, At: p.now})
		for n := 0; !c.Over(); n++ {
			if n > 5000 {
				t.Fatal("the run does not end")
			}
			e := p.answer(t, c)
			p.now = max(p.now, e.At)
			tell(e)
		}
		if d := c.Step(Event{Kind: Read, Ask: 1, Reading: &Reading{}}); !d.Done || len(d.Wishes)+len(d.Asks) > 0 {
			t.Fatalf("after its end the run still wants %+v", d)
		}
		playAgain(t, journal)
	})
}
