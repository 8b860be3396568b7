package core

import (
	"testing"

	"trueup/colorcalc"
)

// A lamp that nobody reads any more, and whose lane has nothing else to light, stays lit. It counts for what it throws on the probe of a lamp that is read in
// another lane as those do that are read: at .42 of the tolerance no number of readings landed that lamp, forty were taken, and its reading went on beside it.
func TestALampThatWasLeftLitIsPutOutWhereItDoesHarm(t *testing.T) {
	white := colorcalc.UV{U: 0.21, V: 0.49}
	for _, x := range []struct {
		throws float64 // lux, on a probe where the lamp that is read gives 100
		leaves bool
	}{{1, false}, {2.4, true}} {
		b := newBench(t, 2, nil)
		c := b.c
		read, left := c.units[1], c.units[2]
		c.cfg.Plan.Tolerance = 0.001
		here, there := &lane{}, &lane{}
		c.lanes, c.byProbe = []*lane{here, there, {}}, map[string]*lane{}
		read.Info.Probe, left.Info.Probe = "here", "there"
		c.byProbe["here"], c.byProbe["there"] = here, there
		here.task, here.lit = &firstVisit{u: read}, read
		read.bright, left.bright = true, true
		read.own, read.tally.last = white.XYZ(100), &Stand{Lux: 100}
		c.spill.put(left.Info.Name, "here", white.XYZ(x.throws))
		if got := c.crowded(here); got != x.leaves {
			t.Errorf("it throws %g lux: the lamp leaves its company %v, want %v", x.throws, got, x.leaves)
		}
		here.next = read
		if stays := c.staysLit(here, left); stays == x.leaves {
			t.Errorf("it throws %g lux: it stays lit %v", x.throws, stays)
		}
	}
}
