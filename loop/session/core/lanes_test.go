package core

import (
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/loop/solve"
)

// fourProbes spreads lamps over four probes, one lane for each.
func fourProbes(c *Config) {
	c.Plan.Lanes = 4
	for i := range c.Units[1:] {
		c.Units[i+1].Info.Probe = []string{"left", "right", "front", "back"}[i%4]
	}
}

// With lanes lamps of several probes are lit and read at the same time, never two of one probe;
// all land as with one lane.
func TestLanesGoOnSideBySide(t *testing.T) {
	b := newBench(t, 12, fourProbes)
	most := 0
	b.read = func(a Ask, _ *Reading) {
		if _, survey := b.c.laneOfAsk(a.ID).task.(*spillReading); survey || a.Dark || a.Probe == "ref" {
			return
		}
		lit := map[string]int{}
		for _, u := range b.p.units[1:] {
			if slices.Max(b.p.stands[u.Head]) > 0 {
				lit[u.Info.Probe]++
			}
		}
		if lit[a.Probe] > 1 {
			t.Fatalf("%d lamps are lit at probe %q while it is read", lit[a.Probe], a.Probe)
		}
		most = max(most, len(lit))
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	for _, u := range b.c.units[1:] {
		if !u.outcome.Landed() {
			t.Errorf("%s: %+v", u.Info.Name, u.outcome)
		}
	}
	if b.d.Err != nil || most < 4 {
		t.Errorf("%v; %d lamps were lit at once, want 4", b.d.Err, most)
	}
}

// Lamps that throw their light on each other's probes take turns, and land as well.
func TestLanesTakeTurnsWhereLightSpills(t *testing.T) {
	b := newBench(t, 8, fourProbes)
	b.p.spill = 0.1
	b.read = func(a Ask, _ *Reading) {
		if _, survey := b.c.laneOfAsk(a.ID).task.(*spillReading); survey || a.Probe == "ref" {
			return
		}
		lit := 0
		for _, u := range b.p.units[1:] {
			if slices.Max(b.p.stands[u.Head]) > 0 {
				lit++
			}
		}
		if lit > 1 {
			t.Fatalf("%d lamps that disturb each other are lit", lit)
		}
	}
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	for _, u := range b.c.units[1:] {
		if !u.outcome.Landed() {
			t.Errorf("%s: %+v", u.Info.Name, u.outcome)
		}
	}
}

// A meter that is silent holds up its own lane alone: the others finish their lamps.
func TestASilentMeterHoldsUpItsOwnLaneAlone(t *testing.T) {
	b := newBench(t, 8, func(c *Config) { fourProbes(c); c.Plan.SilenceLimit = time.Hour })
	b.tell(Event{Kind: Begin})
	b.until("visits", func() bool { l := b.c.lanes[0]; return l.lit != nil && l.asked != 0 })
	mute := b.c.lanes[0]
	others := func() (n int) {
		for _, u := range b.c.units[1:] {
			if u.Info.Probe != "left" && u.outcome != nil && u.outcome.Result != solve.Held {
				n++
			}
		}
		return n
	}
	for range 400 {
		if id := mute.asked; id != 0 {
			b.p.asks = slices.DeleteFunc(b.p.asks, func(a Ask) bool { return a.ID == id })
			if others() < 6 {
				if len(b.p.asks)+len(b.p.wished) == 0 {
					b.tell(Event{Kind: NoReading, Ask: id, At: b.p.now + 10*time.Second, Why: "no reading"})
					continue
				}
			} else {
				b.p.asks = append(b.p.asks, Ask{ID: id, Probe: "left"})
				break
			}
		}
		b.answer()
	}
	if others() < 6 {
		t.Fatalf("%d of 6 lamps of other probes are done", others())
	}
	b.until("the end", b.over)
	if b.d.Err != nil {
		t.Fatal(b.d.Err)
	}
}

// A meter that falls silent in a look at the dark for which all lanes stand still holds up its own lane alone: the others go on to their second visits, and
// its own dark is read once it is heard, before more of its lamps.
func TestAMeterSilentInTheDarkHoldsUpItsOwnLaneAlone(t *testing.T) {
	b := newBench(t, 8, func(c *Config) { fourProbes(c); c.Plan.SilenceLimit = time.Hour })
	b.tell(Event{Kind: Begin})
	looks := func(a Ask) bool {
		d, in := b.c.laneOfAsk(a.ID).task.(*backgrounds)
		read := !slices.ContainsFunc(b.c.units[1:], func(u *unit) bool { return u.outcome == nil })
		return in && d.round && d.only == "left" && read
	}
	b.until("a look at the dark between the rounds", func() bool { return slices.ContainsFunc(b.p.asks, looks) })
	again := map[string]bool{}
	b.read = func(a Ask, _ *Reading) {
		if v, ok := b.c.laneOfAsk(a.ID).task.(*secondVisit); ok {
			again[v.u.Info.Probe] = true
		}
	}
	told := time.Duration(0)
	for range 400 {
		i := slices.IndexFunc(b.p.asks, func(a Ask) bool { return a.Probe == "left" })
		if len(again) == 3 {
			break
		}
		if i < 0 {
			b.answer()
			continue
		}
		mute := b.p.asks[i]
		b.p.asks = slices.Delete(b.p.asks, i, i+1)
		if late := max(told, mute.After) + 10*time.Second; len(b.p.asks)+len(b.p.wished) == 0 || b.p.now >= late {
			told = max(b.p.now, late)
			b.tell(Event{Kind: NoReading, Ask: mute.ID, At: told, Why: "no reading"})
			continue
		}
		b.answer()
		b.p.asks = append(b.p.asks, mute)
	}
	if len(again) != 3 || again["left"] {
		t.Fatalf("while the meter at left is silent lamps were read a second time at %v, want the three other probes", again)
	}
	seen := false
	b.read = func(a Ask, _ *Reading) { seen = seen || a.Probe == "left" && a.Dark }
	b.until("the end", b.over)
	for _, u := range b.c.units[1:] {
		if !u.outcome.Landed() {
			t.Errorf("%s: %+v", u.Info.Name, u.outcome)
		}
	}
	if b.d.Err != nil || !seen {
		t.Errorf("%v; the dark at left was read again: %v", b.d.Err, seen)
	}
}

// A lane that has several probes and reads at another meanwhile has not heard the meter that is silent.
func TestAMeterIsHeardAtItsOwnProbeAlone(t *testing.T) {
	b := newBench(t, 8, func(c *Config) { fourProbes(c); c.Plan.Lanes = 2; c.Plan.SilenceLimit = time.Hour })
	b.tell(Event{Kind: Begin})
	dark := func(probe string) int {
		return slices.IndexFunc(b.p.asks, func(a Ask) bool {
			return a.Dark && a.Probe == probe && !slices.ContainsFunc(b.c.units[1:], func(u *unit) bool { return u.outcome == nil })
		})
	}
	b.until("a look at the dark between the rounds", func() bool { return dark("left") >= 0 })
	mute := b.p.asks[dark("left")]
	b.p.asks = slices.Delete(b.p.asks, dark("left"), dark("left")+1)
	b.tell(Event{Kind: NoReading, Ask: mute.ID, At: mute.After + 10*time.Second, Why: "no reading"})
	read := false
	b.read = func(a Ask, _ *Reading) { read = read || a.Probe == "front" }
	b.until("a reading at the lane's other probe", func() bool { return read })
	if !b.c.mute("left") || b.c.mute("front") {
		t.Errorf("silent at left: %v, at front: %v; want left alone", b.c.mute("left"), b.c.mute("front"))
	}
	if slices.ContainsFunc(b.log, func(e Entry) bool { return strings.HasPrefix(e.Note, "the meter reads again") }) {
		t.Error("it is said that the meter reads again")
	}
}

// A lamp that is refused is held, and the others are matched.
func TestARefusedLampHoldsUpItsOwnLaneAlone(t *testing.T) {
	b := newBench(t, 8, fourProbes)
	b.tell(Event{Kind: Begin})
	b.until("visits", func() bool { return b.c.lanes[1].lit != nil && len(b.c.lanes[1].moving) > 0 })
	u := b.c.lanes[1].lit
	delete(b.p.wished, u.Head)
	b.tell(Event{Kind: Refused, Head: u.Head, Why: "held"})
	b.until("the end", b.over)
	for _, o := range b.c.units[1:] {
		if o.outcome.Landed() == (o == u) {
			t.Errorf("%s: %+v", o.Info.Name, o.outcome)
		}
	}
}
