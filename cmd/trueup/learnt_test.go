package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// What an earlier version learnt is neither used nor touched, and said until
// something new has been learnt.
func TestWhatEarlierVersionsLearntIsLeftAloneAndSaidOnce(t *testing.T) {
	dir := t.TempDir()
	old := filepath.Join(dir, "learnt", "0123456789abcdef01234567.json")
	if err := os.MkdirAll(filepath.Dir(old), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(old, []byte("{}"), 0o644); err != nil {
		t.Fatal(err)
	}
	units := []*session.Unit{{Unit: core.Unit{Type: "0123456789abcdef01234567"}}, {Unit: core.Unit{Type: "x"}}}
	said := func() string {
		var b bytes.Buffer
		if all := loadLearnt(dir, units, zerolog.New(&b)); len(all) != 0 {
			t.Errorf("used: %v", all)
		}
		return b.String()
	}
	if s := said(); strings.Count(s, "earlier version") != 1 || !strings.Contains(s, "left alone") {
		t.Errorf("said %q", s)
	}
	if err := saveLearnt(dir, map[string]*solve.Batch{"y": {Units: 1}}); err != nil {
		t.Fatal(err)
	}
	if s := said(); s != "" {
		t.Errorf("said again: %q", s)
	}
	if text, err := os.ReadFile(old); err != nil || string(text) != "{}" {
		t.Errorf("the old file: %q, %v", text, err)
	}
}
