package core

import (
	"math"
	"testing"
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
	}
}
