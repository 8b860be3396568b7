package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// typed is a bench whose meter a person reads.
func typed(t *testing.T, lamps int, tolerance float64) *bench {
	return newBench(t, lamps, func(c *Config) {
		c.Plan.HandMeter, c.Plan.ReferenceReadings, c.Plan.Tolerance = true, 2, tolerance
	})
}

// A person reads the reference as often as the tolerance takes, and no more than can be asked of them. Where that does not do, it is said before
// the first lamp, with the tolerance that would.
func TestAPersonReadsTheReferenceAsOftenAsTheToleranceTakes(t *testing.T) {
	_, note, coarse := firstReference(typed(t, 2, 0.0020))
	if coarse > 3 || strings.Contains(note, "tolerance") {
		t.Errorf("%d readings for a tolerance of 0.0020; %q", coarse, note)
	}
	ref, note, fine := firstReference(typed(t, 2, 0.0007))
	if fine <= coarse || ref.SigmaUV > referenceSoon*0.0007 || strings.Contains(note, "tolerance") {
		t.Errorf("%d readings for a tolerance of 0.0007, ± %.5f; %q", fine, ref.SigmaUV, note)
	}
	_, note, most := firstReference(typed(t, 2, 0.0003))
	if most != mostTyped || !strings.Contains(note, "take a tolerance of 0.000") {
		t.Errorf("%d readings for a tolerance of 0.0003; %q", most, note)
	}
}

// After a long lamp a person is asked for the reference again before the next one, but not where that is still known.
func TestAPersonIsAskedForTheReferenceBeforeALamp(t *testing.T) {
	for _, pause := range []time.Duration{0, 10 * time.Minute} {
		b := typed(t, 2, 0.0010)
		b.tell(Event{Kind: Begin})
		b.until("a lamp is read", func() bool { return b.c.units[1].tally.kept > 0 })
		b.p.now += pause
		b.until("the first lamp is done", func() bool { return b.c.units[1].outcome != nil })
		b.until("the second is read", func() bool { return b.c.units[2].tally.kept > 0 })
		again := strings.Contains(b.notes(KindReference), "read again")
		if again != (pause > 0) {
			t.Errorf("after a pause of %v: the reference was read again: %v", pause, again)
		}
	}
}

// Repeats that all show the same digits do not make a meter better than its last digit.
func TestAMeterIsNoBetterThanItsLastDigit(t *testing.T) {
	same := make([]colorcalc.UV, 8)
	var m meterNoise
	for range 20 {
		m.again(same, nil)
	}
	fine := m.sigmaUV()
	if m.shows(0.0001); m.sigmaUV() != fine {
		t.Errorf("four digits: %.5f, %.5f without", m.sigmaUV(), fine)
	}
	if m.shows(0.001); m.sigmaUV() < 0.0004 {
		t.Errorf("three digits: %.5f", m.sigmaUV())
	}
}

// A person who says that the meter finds it too dark, with the fixtures out, is asked once at each look: whoever sees a dark room confirms it. A meter that is
// read by the program is asked twice.
func TestADarkRoomIsAskedForOnceOfAPerson(t *testing.T) {
	for _, hand := range []bool{true, false} {
		b := newBench(t, 2, func(c *Config) { c.Plan.HandMeter = hand })
		asks := map[string]int{}
		b.read = func(a Ask, r *Reading) {
			if a.Dark {
				asks[a.Probe]++
				r.UV, r.Y, r.HasY, r.TooDark = colorcalc.UV{}, 0, false, true
			}
		}
		b.tell(Event{Kind: Begin})
		b.until("the dark is read", func() bool { return b.c.background["left"] != nil && b.c.background["right"] != nil })
		want := 2
		if hand {
			want = 1
		}
		if asks["left"] != want || asks["right"] != want {
			t.Errorf("hand %v: asked for the dark %v times", hand, asks)
		}
		b.until("the end", b.over)
		for _, u := range b.c.units[1:] {
			if u.outcome == nil || u.outcome.Result != solve.Landed {
				t.Errorf("hand %v: %s: %+v", hand, u.Info.Name, u.outcome)
			}
		}
	}
}
