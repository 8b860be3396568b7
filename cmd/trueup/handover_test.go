package main

import (
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// After a match everything for the desk is had from the folder of the run: the cue, and a palette
// that says of itself that it is predicted; and a verification tells a program what it found.
func TestAMatchIsHandedOver(t *testing.T) {
	p := startProcesses(t)
	if code := p.end(); !p.through(code) {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	runs, err := filepath.Glob(filepath.Join(p.out, "*", "journal.jsonl"))
	if err != nil || len(runs) != 1 {
		t.Fatal(runs, err)
	}
	say := func(args ...string) string {
		t.Helper()
		cmd := exec.Command(p.match.Path, append(args, "--out", p.out)...)
		cmd.Env = p.match.Env
		text, err := cmd.Output()
		if err != nil && !(args[0] == "verify" && cmd.ProcessState.ExitCode() == exitNotAll) { // a lamp at the edge is honestly not sure
			t.Fatalf("%v: %v\n%s", args, err, text)
		}
		return string(text)
	}
	if text := say("cues", filepath.Dir(runs[0]), "--cue", "901", "--by-address"); !strings.Contains(text, "cue-901.asc") {
		t.Error(text)
	}
	text := say("palette", p.rig.Path, "4000 K", "5600 K")
	if strings.Count(text, "  predicted  ") != 4 || !strings.Contains(text, "nothing was measured") {
		t.Errorf("two lamps, two colours:\n%s", text)
	}
	var verified struct {
		Work     string
		Complete bool
		Fixtures []struct{ Name, Result, Verdict string }
		Worst    struct{ A, B string } `json:"worst_pair"`
	}
	if text := say("verify", p.rig.Path, "--live", "--yes", "--json"); json.Unmarshal([]byte(text), &verified) != nil {
		t.Fatalf("not JSON alone:\n%s", text)
	}
	if verified.Work != "verify" || !verified.Complete || len(verified.Fixtures) != 3 || verified.Fixtures[1].Verdict == "" || verified.Worst.A != "wash" || verified.Worst.B != "cob" {
		t.Errorf("%+v", verified)
	}
}
