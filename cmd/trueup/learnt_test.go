package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

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
		if all := loadLearnt(dir, "hall", units, time.Now(), zerolog.New(&b)); len(all.batches) != 0 {
			t.Errorf("used: %v", all)
		}
		return b.String()
	}
	if s := said(); strings.Count(s, "earlier version") != 1 || !strings.Contains(s, "left alone") {
		t.Errorf("said %q", s)
	}
	if err := saveLearnt(dir, "hall", &learnt{batches: map[string]*solve.Batch{"y": {Units: 1}}}, nil, time.Now(), zerolog.Nop()); err != nil {
		t.Fatal(err)
	}
	if s := said(); s != "" {
		t.Errorf("said again: %q", s)
	}
	if text, err := os.ReadFile(old); err != nil || string(text) != "{}" {
		t.Errorf("the old file: %q, %v", text, err)
	}
}

// What is listed says of which fixtures it was learnt, and what was kept before
// the words were is read as ever.
func TestWhatWasLearntSaysOfWhichFixtures(t *testing.T) {
	dir := t.TempDir()
	units := []*session.Unit{{Unit: core.Unit{Type: "y"}}}
	units[0].Info.Profile, units[0].Info.Mode = "Farnwibble Wash 14", "RGBW 16 bit"
	if err := saveLearnt(dir, "hall", &learnt{batches: map[string]*solve.Batch{"y": {Units: 2}, "z": {Units: 1}}}, units, time.Now(), zerolog.Nop()); err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"y": "Farnwibble Wash 14, RGBW 16 bit", "z": ""} {
		text, err := os.ReadFile(learntFile(dir, key))
		if err != nil {
			t.Fatal(err)
		}
		b := typeLearnt{Batch: &solve.Batch{}}
		if err := json.Unmarshal(text, &b); err != nil || b.Type != want || b.Units == 0 {
			t.Errorf("%s: %q from %d, %v", key, b.Type, b.Units, err)
		}
		if err := json.Unmarshal(text, &solve.Batch{}); err != nil {
			t.Errorf("%s is no more what a run reads: %v", key, err)
		}
	}
}
