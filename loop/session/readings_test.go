package session_test

import (
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// The readings of a fixture that count, and those set aside, are together all that the run took of it, in every kept journal; those that
// count are those that its words tell of.
func TestReadingsThatCountAndThoseThatDoNotAreAll(t *testing.T) {
	seen := 0
	recordedJournals(t, "../../testdata/journals/*/*.jsonl", 19, func(t *testing.T, path string) {
		entries, s := entriesOfRecorded(t, path), summaryOfRecorded(t, path)
		for _, f := range s.Fixtures {
			counted := 0
			for _, p := range f.Trace {
				if p.Counted {
					counted++
				}
			}
			r := f.Readings
			if r.Count != counted || r.Count+r.Aside != len(f.Trace) {
				t.Errorf("%s: %s, of %d that are drawn %d count", f.Name, r, len(f.Trace), counted)
			}
			begun := false // anew, where a value was typed wrongly: then the outcome tells of what came after
			for _, e := range entries {
				begun = begun || e.Kind == core.KindUndo && e.Fixture == f.Name
			}
			if o := f.Final(); o != nil && !begun && r.Count+r.Aside != o.Readings {
				t.Errorf("%s: %s, the run took %d", f.Name, r, o.Readings)
			} else if o != nil && strings.Contains(o.Reason, " readings") {
				seen++
			}
		}
	})
	if seen == 0 {
		t.Error("no journal tells of readings: this test has lost what it watches")
	}
}

// What was set aside is said beside what counts.
func TestReadingsInWords(t *testing.T) {
	for _, c := range []struct {
		r           session.Readings
		text, words string
	}{
		{session.Readings{Count: 11}, "11", "11 readings"},
		{session.Readings{Count: 1, Aside: 2}, "1 + 2 aside", "1 reading, 2 more set aside"},
	} {
		if c.r.String() != c.text || c.r.Words() != c.words {
			t.Errorf("%q, %q; want %q, %q", c.r, c.r.Words(), c.text, c.words)
		}
	}
}
