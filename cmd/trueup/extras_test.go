package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trueup/cmd/trueup/history"
	"trueup/loop/session"
)

// A report tells how the lamps have aged where there are earlier runs to tell by; a run that lies alone leaves no index
// beside it.
func TestAReportTellsOfEarlierRuns(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot(t), "testdata/journals/v2/match.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	root := t.TempDir()
	run := func(name string) string {
		dir := filepath.Join(root, name)
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, session.JournalName), text, 0o644); err != nil {
			t.Fatal(err)
		}
		return dir
	}
	page := func(dir string) string {
		_, s, err := readRun(dir)
		if err != nil {
			t.Fatal(err)
		}
		if err := writeUp(dir, s); err != nil {
			t.Fatal(err)
		}
		html, err := os.ReadFile(filepath.Join(dir, "report.html"))
		if err != nil {
			t.Fatal(err)
		}
		return string(html)
	}
	if html := page(run("one")); strings.Contains(html, "have aged") {
		t.Error("one run tells of ageing")
	}
	if _, err := os.Stat(filepath.Join(root, history.FileName)); err == nil {
		t.Error("an index was left beside one run")
	}
	if html := page(run("two")); !strings.Contains(html, "No emitter has changed by more than can be told") {
		t.Errorf("two equal runs: %d bytes, %v", len(html), strings.Contains(html, "have aged"))
	}
	if err := os.WriteFile(filepath.Join(root, history.FileName), bytes.Repeat([]byte("x"), 5000), 0o644); err != nil {
		t.Fatal(err)
	}
	if html := page(filepath.Join(root, "two")); !strings.Contains(html, "No emitter has changed") {
		t.Error("a broken index kept the report from telling")
	}
}
