package core

import (
	"strings"
	"testing"
)

// The reading that shows that the light of a new type stands is the first of its match: it is not taken once more, and it is on record once.
func TestTheReadingThatShowsADeadTimeBeginsTheVisit(t *testing.T) {
	b := newBench(t, 1, nil)
	b.ended(nil)
	known := -1
	for i, e := range b.log {
		if e.Kind == KindSettle && strings.Contains(e.Note, "light stands still") {
			known = i
		}
	}
	if known < 0 {
		t.Fatal("no dead time was measured")
	}
	seq := uint64(0)
	for _, e := range b.log[known+1:] {
		if e.Event != nil {
			t.Fatalf("something was waited for between %q and the first reading as found: %s", b.log[known].Note, e.Event.Kind)
		}
		if e.Kind == KindFound {
			seq = e.Reading.MeterSeq
			break
		}
	}
	times := 0
	for _, e := range b.log {
		if e.Reading != nil && e.Reading.Probe == b.c.units[1].Info.Probe && e.Reading.MeterSeq == seq {
			times++
		}
	}
	if seq == 0 || times != 1 {
		t.Errorf("reading %d of the meter is on record %d times", seq, times)
	}
}
