package core

import (
	"testing"
	"time"

	"trueup/loop/solve"
)

// A watch that went dark before its last readings has not shown that the lamp keeps its colour.
func TestAWatchWithoutLateReadingsDoesNotCount(t *testing.T) {
	b := newBench(t, 2, func(c *Config) { c.Plan.Watch = UsualWatch })
	u := b.c.units[0]
	u.Type = "a type"
	early := []glance{{time.Second, solve.Reading{UV: window, SigmaUV: 1e-4}}}
	for _, w := range []*watch{{}, {early: early}, {late: early}} {
		if w.u = u; b.c.told(w) || u.watched || len(b.c.TypeTimes().Steadiness) > 0 {
			t.Errorf("%d early and %d late readings count: %v", len(w.early), len(w.late), b.c.TypeTimes().Steadiness)
		}
	}
	w := &watch{early: early, late: early}
	if w.u = u; b.c.told(w) || !u.watched || b.c.TypeTimes().Steadiness["a type"].Watched != 1 {
		t.Errorf("a whole watch: %v", b.c.TypeTimes().Steadiness)
	}
}
