package core

import (
	"math"
	"slices"
	"testing"
	"time"

	"trueup/loop/solve"
)

// A light of the room that goes out, or is put on, between the look at the dark and the readings of a lamp that is verified says nothing of the lamp: the dark is
// read again before the lamp is held for giving no light, or is said to have drifted.
func TestALightThatChangesBeforeALampIsVerifiedIsNotHeldAgainstIt(t *testing.T) {
	yesterday := newBench(t, 3, nil).ended(nil)
	for _, s := range []struct{ from, to float64 }{{600, 1}, {600, 200}, {150, 1}, {135.7, 1}, {60, 1}, {1.5, 60}} {
		b := newBench(t, 3, func(c *Config) {
			c.Work, c.Previous = Verify, []Standing{yesterday.left("wash 0"), yesterday.left("wash 1"), yesterday.left("wash 2")}
		})
		b.p.ambient = s.from
		b.tell(Event{Kind: Begin})
		b.until("the first is lit", func() bool {
			t, first := b.c.main.task.(*recheck)
			return first && t.stands != nil
		})
		b.p.ambient = s.to
		b.until("the end", b.over)
		for _, u := range b.c.units[1:] {
			if u.outcome == nil || u.outcome.Result != solve.Landed {
				t.Errorf("%g to %g lux: %s: %+v", s.from, s.to, u.Info.Name, u.outcome)
			}
		}
	}
}

// A lamp that has drifted, or that gives no light any more, is said to where the dark is as it was; that is looked at before it is said.
func TestALampThatHasDriftedIsSaidToAfterALookAtTheDark(t *testing.T) {
	yesterday := newBench(t, 2, nil).ended(nil)
	left := yesterday.left("wash 0")
	other := left
	other.Codes = slices.Clone(left.Codes)
	other.Codes[0] += other.Codes[0] / 10
	gone := left
	gone.Codes = make(solve.Drive, len(left.Codes))
	for name, s := range map[string]struct {
		earlier Standing
		want    solve.Outcome
		say     string
	}{
		"drifted":  {other, solve.Unsettled, "drifted"},
		"no light": {gone, solve.Held, "no light to speak of"},
	} {
		b := newBench(t, 2, func(c *Config) { c.Work, c.Previous = Verify, []Standing{s.earlier} })
		b.p.ambient = 60
		b.tell(Event{Kind: Begin})
		looks, last := 0, time.Duration(-1)
		b.until("the end", func() bool {
			if d := b.c.background["left"]; d != nil && d.when != last {
				looks, last = looks+1, d.when
			}
			return b.over()
		})
		o := b.outcome("wash 0")
		if o.Result != s.want || looks < 2 || looks > 3 {
			t.Errorf("%s: %d looks at the dark, %+v", name, looks, o)
		}
		b.holds(name, o.Reason, s.say)
	}
}

// A lamp that has moved by more than lamps drift is not said to have drifted: it is another unit, or has a filter before it. Nor is one that stands
// where it stood beside a reference that has moved.
func TestWhatIsNoDriftIsNotCalledOne(t *testing.T) {
	b := newBench(t, 2, nil).ended(nil)
	left := b.left("wash 0")
	left.Lux = b.outcome("wash 0").Final.Lux
	redder, far, brighter := left, left, left
	redder.Codes = slices.Clone(left.Codes)
	redder.Codes[0] += redder.Codes[0] / 10
	far.Codes = slices.Clone(left.Codes)
	far.Codes[0] += far.Codes[0] / 2
	brighter.Codes, brighter.Lux = redder.Codes, left.Lux/3
	for name, s := range map[string]struct {
		earlier Standing
		moved   float64 // the reference, u'
		say     string
	}{
		"a little":                 {redder, 0, "it has drifted to"},
		"far":                      {far, 0, "more than a fixture drifts. Look for another unit in its place, a changed address or mode, or a filter"},
		"a little, but much light": {brighter, 0, "% of the light that it gave: more than a fixture drifts"},
		"the reference has moved":  {left, 0.02, "it stands where the match left it, within half the tolerance, and the reference is another light now"},
	} {
		b := newBench(t, 2, func(c *Config) { c.Work, c.Previous = Verify, []Standing{s.earlier} })
		b.read = func(_ Ask, r *Reading) {
			if u := b.c.find("wash 0"); s.moved > 0 && !u.bright {
				r.UV.U += s.moved
			}
		}
		b.ended(nil)
		o := b.outcome("wash 0")
		if o.Verdict != Drifted {
			t.Errorf("%s: %+v", name, o)
		}
		b.holds(name, o.Reason, s.say)
	}
}

// A meter on hold shows what it read last, whatever is lit then. That is said, and not that the lamp has moved.
func TestAMeterOnHoldAccusesNoLamp(t *testing.T) {
	b := newBench(t, 2, nil).ended(nil)
	left := b.left("wash 1")
	left.Result = solve.OutOfReach
	left.UV.U += 0.03 // where the lamp does not stand, and the meter shows another light than that
	for held, want := range map[bool]string{true: "show the same figures to the last digit", false: "now stands elsewhere"} {
		b := newBench(t, 2, func(c *Config) { c.Work, c.Previous = Verify, []Standing{left} })
		var shows *Reading
		n := 0.0
		b.read = func(_ Ask, r *Reading) {
			n++
			r.UV.U += 0.0003 * math.Sin(7*n) // its scatter
			if u := b.c.find("wash 1"); held && u.bright {
				if shows == nil {
					shows = &Reading{UV: r.UV, Y: r.Y}
					shows.UV.V += 0.02
				}
				r.UV, r.Y = shows.UV, shows.Y
			} else if u.bright {
				r.UV.V += 0.02
			}
		}
		b.ended(nil)
		o := b.outcome("wash 1")
		if (o.Verdict == Drifted) == held {
			t.Errorf("held %v: %+v", held, o)
		}
		b.holds("the reason", o.Reason, want)
	}
}

// A lamp that an interrupted match had not brought to the target, but had set on its way there, has landed where fresh readings show it to be there.
func TestALampThatHadNotLandedAndIsThereNowHasLanded(t *testing.T) {
	b := newBench(t, 2, nil).ended(nil)
	left := b.left("wash 0")
	left.Result = solve.Held
	left.UV.U += 0.02 // as it was read last, before the last step was sent
	b = newBench(t, 2, func(c *Config) { c.Work, c.Previous = Verify, []Standing{left} }).ended(nil)
	o := b.outcome("wash 0")
	if o.Result != solve.Landed {
		t.Errorf("%+v", o)
	}
	b.holds("the reason", o.Reason, "though it had not landed")
}

// A meter that shows the light of one lamp whatever is lit, as one that was knocked over or put on hold does, makes no other lamp stand: where the level is
// not the one that the match left, the dark is looked at before it is said that the lamp stands.
func TestALampIsNotSaidToStandByAMeterThatDoesNotFollowIt(t *testing.T) {
	oneProbe := func(c *Config) {
		for i := range c.Units {
			c.Units[i].Info.Probe = "left"
		}
	}
	b := newBench(t, 2, oneProbe).ended(nil)
	for stuck, want := range map[bool]solve.Outcome{true: solve.Held, false: solve.Landed} {
		var was []Standing
		for i, name := range []string{"wash 0", "wash 1"} {
			s := b.left(name)
			s.Lux = b.outcome(name).Final.Lux
			if i == 1 && stuck {
				s.Lux *= 0.7 // the second gave less than what the meter is stuck at
			}
			was = append(was, s)
		}
		v := newBench(t, 2, func(c *Config) {
			oneProbe(c)
			c.Work, c.Previous = Verify, was
		})
		var shows *Reading
		n := 0.0
		v.read = func(_ Ask, r *Reading) {
			n++
			if stuck && v.c.find("wash 0").outcome != nil {
				r.UV, r.Y, r.HasY, r.TooDark = shows.UV, shows.Y, true, false
			} else if v.c.find("wash 0").bright {
				shows = &Reading{UV: r.UV, Y: r.Y}
			}
			r.UV.U += 0.0001 * math.Sin(7*n)
		}
		v.ended(nil)
		if o := v.outcome("wash 1"); o.Result != want {
			t.Errorf("stuck %v: %+v", stuck, o)
		} else if stuck {
			v.holds("why", o.Reason, "so much it read with wash 0 lit: the meter is on hold, or that fixture does not go out")
		}
	}
}
