package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/safety"
)

// A verification leaves out what the match left out: it has nothing to hold it against, and nobody is to wait for it.
func TestVerifyLeavesOutWhatTheMatchLeftOut(t *testing.T) {
	text, err := os.ReadFile("../../testdata/journals/v2/match.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	entries, _, err := session.ReadJournal(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	info := entries[0].Run
	fixtures := info.Fixtures
	out := session.FixtureInfo{Name: "beside", Profile: "panel", Mode: "mired", Address: "1/200", LeftOut: true}
	info.Fixtures = append(fixtures[:len(fixtures):len(fixtures)], out)
	first, err := json.Marshal(entries[0])
	if err != nil {
		t.Fatal(err)
	}
	root := t.TempDir()
	dir := filepath.Join(root, "match")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	_, rest, _ := bytes.Cut(text, []byte("\n"))
	if err := os.WriteFile(filepath.Join(dir, session.JournalName), append(append(first, '\n'), rest...), 0o600); err != nil {
		t.Fatal(err)
	}
	j := session.Job{Rig: &rig.Rig{Name: info.Rig}, Compiled: &session.Compiled{Start: safety.Look{}}}
	for i, f := range info.Fixtures {
		f.LeftOut = false
		j.Compiled.Heads = append(j.Compiled.Heads, safety.Head{})
		j.Compiled.Units = append(j.Compiled.Units, &session.Unit{Unit: core.Unit{Info: f, Head: i}})
	}
	if err := verifies(&j, &settings{Out: root}, j.Rig, dir); err != nil {
		t.Fatal(err)
	}
	for i, u := range j.Compiled.Units {
		if want := i == len(fixtures); u.Info.LeftOut != want || (u.Head < 0) != want {
			t.Errorf("%s: left out: %v, head %d", u.Info.Name, u.Info.LeftOut, u.Head)
		}
	}
}
