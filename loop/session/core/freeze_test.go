package core

import (
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
)

// movingWindow lets the reference go 0.004 away once it has been read for the first time.
func movingWindow(b *bench) {
	n := 0
	b.read = func(a Ask, r *Reading) {
		if a.Probe != "ref" {
			return
		}
		if n++; n > b.c.cfg.Plan.ReferenceReadings {
			r.UV.V += 0.004
		}
	}
}

// A frozen reference is matched to as it was read first; the run says so, and how far it went.
func TestAFrozenReference(t *testing.T) {
	for _, freeze := range []bool{true, false} {
		b := newBench(t, 3, func(c *Config) { c.Plan.Target.Freeze = freeze })
		movingWindow(b)
		var first colorcalc.UV
		b.tell(Event{Kind: Begin})
		b.until("the reference", func() bool { return b.c.ref != nil })
		first = b.c.ref.UV
		b.until("the end", b.over)
		end := b.log[len(b.log)-1].Note
		if freeze != strings.Contains(end, "frozen") || !strings.Contains(end, "holds for window as it was") {
			t.Errorf("freeze %v: the run ends with %q", freeze, end)
		}
		if moved := b.c.ref.UV.Dist(first); freeze != (moved == 0) {
			t.Errorf("freeze %v: what lamps are matched to went %.4f", freeze, moved)
		}
		if freeze && (b.c.ref.Moved < 0.003 || b.c.ref.Moved > 0.005) {
			t.Errorf("it went 0.004, told are %.4f", b.c.ref.Moved)
		}
	}
}

// Background and reference are read when the lamps have warmed up: what was read before
// would be old by then.
func TestWarmUpComesFirst(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.WarmUp = 3 * time.Minute })
	b.tell(Event{Kind: Begin})
	b.until("the end", b.over)
	for i := range b.log {
		if e := &b.log[i]; e.Event != nil && e.Event.Kind == Read && e.Event.At < 3*time.Minute {
			t.Fatalf("a reading was asked for at %v", e.Event.At)
		}
	}
}

// A reference that jumps within the last passage, when most of its readings are in, is not
// outvoted by them: lamps are matched to where it is at the end.
func TestAReferenceThatJumpsInTheLastPassage(t *testing.T) {
	play := func(from int) (c *Core, reads int) {
		b := newBench(t, 3, nil)
		b.read = func(a Ask, r *Reading) {
			if a.Probe != "ref" {
				return
			}
			if reads++; reads > from {
				r.UV.V += 0.004
			}
		}
		b.tell(Event{Kind: Begin})
		b.until("the end", b.over)
		return b.c, reads
	}
	still, reads := play(1 << 30)
	for late := 1; late <= 2; late++ {
		c, _ := play(reads - late)
		if moved := c.ref.UV.Dist(still.ref.UV); moved < 0.0035 {
			t.Errorf("%d readings before the end it went 0.004 away: it is followed by %.4f", late, moved)
		}
	}
}
