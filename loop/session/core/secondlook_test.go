package core

import (
	"fmt"
	"testing"
	"time"
)

// The light of a lamp that is lost for a second, at whatever reading of a visit, gives no lamp up and ends no run, in whatever work: it is looked at again.
func TestALossOfLightOfASecondDecidesNothing(t *testing.T) {
	still := newBench(t, 2, nil).ended(nil)
	works := map[string]func(*Config){
		"match":            nil,
		"survey":           func(c *Config) { c.Work = Survey },
		"verify":           func(c *Config) { c.Work, c.Previous = Verify, []Standing{still.left("wash 0"), still.left("wash 1")} },
		"a lamp to follow": func(c *Config) { c.Plan.Target.Reference = "wash 0" },
	}
	for work, change := range works {
		for nth := 1; nth <= 8; nth++ {
			t.Run(fmt.Sprintf("%s, reading %d", work, nth), func(t *testing.T) {
				b := newBench(t, 2, change)
				lit, from := 0, time.Duration(0)
				b.read = func(a Ask, r *Reading) {
					if a.Dark || r.Probe == "ref" {
						return
					}
					if lit++; lit == nth {
						from = r.At
					}
					if from > 0 && r.At < from+1200*time.Millisecond {
						r.TooDark, r.HasY, r.Y = true, false, 0
					}
				}
				b.ended(nil)
				if b.d.Err != nil {
					t.Fatal(b.d.Err)
				}
				for _, e := range b.log {
					if e.Outcome != nil && e.Outcome.Result.String() == "held" {
						t.Errorf("%s: %s", e.Fixture, e.Outcome.Reason)
					}
				}
			})
		}
	}
}

// A lamp that gives no light at all is told so within eight readings, and says how many.
func TestALampWithoutLightIsNamedWithinEight(t *testing.T) {
	b := newBench(t, 2, nil)
	b.read = func(a Ask, r *Reading) {
		if l := b.c.lane.task; !a.Dark && l != nil && l.unit() != nil && l.unit().Info.Name == "wash 1" {
			r.TooDark, r.HasY, r.Y = true, false, 0
		}
	}
	b.ended(nil)
	o := b.outcome("wash 1")
	b.holds("reason", o.Reason, "no light to speak of", "times in a row")
	if o.Readings > 8 {
		t.Errorf("%d readings", o.Readings)
	}
}
