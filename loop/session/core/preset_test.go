package core

import (
	"maps"
	"slices"
	"testing"
	"time"

	"trueup/loop/solve"
)

// dimmed are testUnits that go dark by a dimmer, the last of their parameters.
func dimmed(n int) []Unit {
	units := testUnits(n)
	for i := range units[1:] {
		u := &units[i+1]
		u.Spec.Channels = append(u.Spec.Channels, solve.Channel{Name: "dimmer", Max: 65535, Hi: 65535})
		u.Spec.Dimmer = &solve.DimmerSpec{Channel: 3}
		u.Spec.Dimmer.Level.Curve.Law = u.Spec.Curve.Law
		u.Dark, u.Rest, u.Lit = []AxisCode{{Axis: 3}}, solve.Drive{0, 0, 0, 0}, solve.Drive{65535, 65535, 65535, 65535}
		u.Spec.Start = solve.Drive{0, 0, 0, 65535}
	}
	return units
}

// Lamps that go dark by a dimmer stand at a mix before they are lit for the first time, their dimmers
// at zero; a lamp that does not take it spoils no visit of another.
func TestDarkLampsTakeTheirColourBeforeTheyAreLit(t *testing.T) {
	cfg := Config{Work: Match, Plan: DefaultPlan(), Units: dimmed(4)}
	cfg.Plan.Target.Reference = "window"
	c, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	p := newPlant(cfg.Units)
	var outcomes, presets int
	lit := map[int]bool{}
	tell := func(e Event) {
		d := c.Step(e)
		p.follow(&d)
		for _, n := range d.Entries {
			if n.Kind == KindOutcome {
				outcomes++
				if refused := n.Fixture == "wash 2"; refused != (n.Outcome.Result == solve.Held) {
					t.Errorf("%s: %+v", n.Fixture, n.Outcome)
				}
			}
		}
		for _, w := range d.Wishes {
			colour := slices.Max(w.Codes[:3]) > 0
			switch {
			case w.Codes[3] == 0 && colour && !lit[w.Head]:
				presets++
			case w.Codes[3] > 0 && !lit[w.Head]:
				lit[w.Head] = true
				if stands := p.stands[w.Head]; w.Head != 2 && slices.Max(stands[:3]) == 0 {
					t.Errorf("head %d is lit with its mix still to come: %v", w.Head, stands)
				}
			}
		}
	}
	tell(Event{Kind: Begin})
	for n := 0; !c.Over(); n++ {
		if n > 3000 {
			t.Fatal("the run does not end")
		}
		if d := p.wished[2]; d != nil && slices.Max(d) > 0 { // this lamp takes nothing but the dark
			delete(p.wished, 2)
			tell(Event{Kind: Refused, At: p.now, Head: 2, Why: "held"})
			continue
		}
		e := p.next()
		p.now = max(p.now, e.At)
		tell(e)
	}
	if presets != 4 || outcomes != 4 {
		t.Errorf("%d lamps were set in the dark and %d have an outcome, want 4 and 4", presets, outcomes)
	}
}

// next is answer without the check that belongs to a random test.
func (p *plant) next() Event {
	for _, h := range slices.Sorted(maps.Keys(p.wished)) {
		d := slices.Clone(p.wished[h])
		p.stands[h] = d
		delete(p.wished, h)
		return Event{Kind: Arrived, At: p.now, Head: h, Sent: d, When: p.now}
	}
	if len(p.asks) > 0 {
		a := p.asks[0]
		p.asks = p.asks[1:]
		r := p.reading(a)
		return Event{Kind: Read, At: p.now, Ask: a.ID, Reading: r}
	}
	return Event{Kind: Tick, At: p.now + time.Second}
}
