package session

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
)

// A run that broke off goes on to the target and within the tolerance that it began with, and what is shown before says so, also when the rig file
// was changed meanwhile; a fixture that was changed is named.
func TestARunGoesOnWithWhatItBeganWith(t *testing.T) {
	begun := jobOfTwo(t, "reference: key", "0.0020", "fill")
	cfg := begun.Config()
	info, err := begun.info(&cfg, 100)
	if err != nil {
		t.Fatal(err)
	}
	e := &Earlier{Dir: "out", Info: *info, Work: core.Match}
	for name, c := range map[string]struct{ target, tolerance, fill, note, refused string }{
		"as it was":         {"reference: key", "0.0020", "fill", "", ""},
		"another tolerance": {"reference: key", "0.0015", "fill", "the light of key, tolerance 0.0020. What the rig says now (the light of key, tolerance 0.0015)", ""},
		"another target":    {"color: 5600 K", "0.0020", "fill", "the light of key, tolerance 0.0020. What the rig says now (5600 K, tolerance 0.0020)", ""},
		"another level":     {"reference: key, common_level: equal", "0.0020", "fill", "(the light of key, tolerance 0.0020, all at one level (equal))", ""},
		"another name":      {"reference: key", "0.0020", "floor", "", "the rig has floor now where it had fill"},
	} {
		j := jobOfTwo(t, c.target, c.tolerance, c.fill)
		note, err := e.AsBegun(&j)
		if c.refused != "" {
			if err == nil || !strings.Contains(err.Error(), c.refused) {
				t.Errorf("%s: %v", name, err)
			}
			continue
		}
		if err != nil || !strings.Contains(note, c.note) || (note == "") != (c.note == "") {
			t.Errorf("%s: %q, %v", name, note, err)
		}
		if j.Plan.Tolerance != 0.0020 || j.TargetText() != "the light of key" {
			t.Errorf("%s: goes on to %s within %.4f", name, j.TargetText(), j.Plan.Tolerance)
		}
	}
}

// A look that was kept when the power went is not gone on with: what to do instead is said, and not only that nothing has broken off.
func TestALookThatWasKeptIsBegunAgain(t *testing.T) {
	root := t.TempDir()
	dir := filepath.Join(root, "2026-01-02-2100-r")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	j := jobOfTwo(t, "reference: key", "0.0020", "fill")
	j.Work = core.Keep
	cfg := j.Config()
	info, err := j.info(&cfg, 100)
	if err != nil {
		t.Fatal(err)
	}
	journal, err := CreateJournal(filepath.Join(dir, JournalName), time.Now, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(journal.Append(Entry{Kind: core.KindRun, Run: info}), journal.Close()); err != nil {
		t.Fatal(err)
	}
	if _, err := NewestBroken(root); err == nil || !strings.Contains(err.Error(), "2026-01-02-2100-r: a run of the kind \"keep\" is begun again, not gone on with (trueup keep)") {
		t.Errorf("said %v", err)
	}
}
