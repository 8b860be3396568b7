package core

import (
	"math"
	"strings"
	"testing"
	"time"

	"trueup/loop/solve"
)

// What is said last of a fixture is of the reference as it was read last, not as it was at the fixture's visit.
func TestTheLastWordIsOfTheEnd(t *testing.T) {
	b := newBench(t, 3, nil)
	last := false // the passage after the second round
	b.read = func(a Ask, r *Reading) {
		if a.Probe != "ref" && !a.Dark {
			last = b.c.find("wash 2").outcome != nil && b.c.find("wash 2").tally.steps > 1
		}
		if a.Probe == "ref" && last {
			r.UV.V += 0.0003
		}
	}
	b.ended(nil)
	for _, name := range []string{"wash 0", "wash 1", "wash 2"} {
		o := b.outcome(name)
		if !o.Landed() {
			t.Fatalf("%s: %+v", name, o)
		}
		if off := o.Final.UV.Dist(b.c.ref.UV); math.Abs(off-o.Final.Delta) > 1e-6 {
			t.Errorf("%s: %.5f off is said, it is %.5f off by the same run's words", name, o.Final.Delta, off)
		}
		if !strings.Contains(o.Reason, solve.SureWords(o.Probability)+" at the end of the run") {
			t.Errorf("%s: the chance is %.4f, the reason says %q", name, o.Probability, o.Reason)
		}
	}
}

// Without a second visit nobody reads a lamp again whose background was lost: nothing new is said of it at the end.
func TestNothingIsSaidLastOfAClaimThatDoesNotHold(t *testing.T) {
	b := newBench(t, 4, func(c *Config) { c.Plan.SecondVisit = false })
	b.fade, b.p.ambient = 3*time.Second, 60
	b.read = func(a Ask, r *Reading) {
		if a.Dark && b.p.now > 12*time.Second {
			r.HasY, r.Y = false, 0
		}
	}
	b.ended(nil)
	for _, e := range b.log {
		if o := e.Outcome; e.Kind == KindClaim && (o.Probability < keepAt || o.Final.SD > 0.01) {
			t.Errorf("%s: landed is said with a chance of %.2f, known to %.4f", e.Fixture, o.Probability, o.Final.SD)
		}
	}
	if len(b.c.background) > 0 {
		t.Error("the background was not lost: this shows nothing")
	}
}
