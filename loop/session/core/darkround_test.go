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
