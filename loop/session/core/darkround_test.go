package core

import "testing"

// Background and a reference at a probe of its own are read in one darkness, meter by meter in turn: neither is
// waited for after the other.
func TestBackgroundAndReferenceShareOneDarkness(t *testing.T) {
	b := newBench(t, 1, nil)
	var probes []string
	b.ended(nil)
	for _, e := range b.log {
		if e.Event != nil && e.Event.Kind == Read && e.Event.Reading != nil {
			probes = append(probes, e.Event.Reading.Probe)
		}
	}
	turns := 0
	for i := 1; i < 2*firstDark && i < len(probes); i++ {
		if probes[i] != probes[i-1] {
			turns++
		}
	}
	if turns < 2*firstDark-1 {
		t.Errorf("the first readings were of %v: each meter should have been asked in its turn", probes[:min(len(probes), 2*firstDark)])
	}
}

// The readings of a dead time that began once the light stood still are the first of the match: the lamp is not read there
// again.
func TestReadingsOfADeadTimeCount(t *testing.T) {
	b := newBench(t, 1, func(c *Config) { c.Units[0].SettleKnown = false })
	b.ended(nil)
	measured, known := map[uint64]bool{}, false
	for _, e := range b.log {
		switch {
		case e.Kind == KindSettle && e.Reading != nil:
			measured[e.Reading.MeterSeq] = true
		case e.Kind == KindSettle:
			known = true
		case known && e.Event != nil && e.Event.Kind == Read:
			t.Fatal("the lamp was read again before any reading of the dead time was used")
		case known && e.Kind == KindFound:
			if !measured[e.Reading.MeterSeq] {
				t.Errorf("the first reading of the match is number %d, the dead time was read by %v", e.Reading.MeterSeq, measured)
			}
			return
		}
	}
	t.Error("the lamp was never read as found")
}
