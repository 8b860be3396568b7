package report

import (
	"strings"
	"testing"
)

// A fixture that the run was asked to leave out is none that it failed to match, and none that it was asked for.
func TestWhatWasLeftOutIsNotCountedAsMissed(t *testing.T) {
	s := wallOf(6, 3)
	for i := range 4 {
		f := &s.Fixtures[i+2]
		f.LeftOut, f.Outcome, f.Trace = true, nil, nil
	}
	if text := Lead(s); !strings.HasPrefix(text, "Of 2 fixtures: 2 landed. Left out by choice: 4.") {
		t.Error(text)
	}
	for i, r := range pageRows(s) {
		if out := i >= 2; out != (r.Result == "left out") || r.Missed {
			t.Errorf("%s: %s, missed: %v", r.Name, r.Result, r.Missed)
		}
	}
}
