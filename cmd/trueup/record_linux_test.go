package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"trueup/loop/session/core"
)

// recording skips all but a run that is meant to write testdata/journals anew:
//
//	RECORD_JOURNALS=1 go test ./cmd/trueup -run TestRecord -count 1
func recording(t *testing.T) {
	t.Helper()
	if os.Getenv("RECORD_JOURNALS") != "1" {
		t.Skip("writes testdata/journals anew; only with RECORD_JOURNALS=1")
	}
}

// keepJournal copies the newest journal below a folder of runs to the recorded ones.
func keepJournal(t *testing.T, out, name string) {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(out, "*", "journal.jsonl"))
	if err != nil || len(found) == 0 {
		t.Fatalf("journals: %v %v", found, err)
	}
	newest := found[0]
	for _, f := range found[1:] {
		a, errA := os.Stat(newest)
		b, errB := os.Stat(f)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if b.ModTime().After(a.ModTime()) {
			newest = f
		}
	}
	text, err := os.ReadFile(newest)
	if err != nil {
		t.Fatal(err)
	}
	if len(text) > 150_000 {
		t.Errorf("%s: %d bytes", name, len(text))
	}
	dir := filepath.Join(moduleRoot(t), "testdata", "journals", "v2")
	if core.JournalVersion != 2 {
		t.Fatal("another version of the journal takes a folder of its own")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".jsonl"), text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// again runs another command of the program on the same stage, to its end.
func (p *processRun) again(args ...string) {
	p.t.Helper()
	cmd := exec.Command(p.match.Path, append(args, "--out", p.out)...)
	cmd.Env = p.match.Env
	if text, err := cmd.CombinedOutput(); err != nil {
		p.t.Fatalf("%v: %v\n%s", args, err, text)
	}
}

func TestRecordJournalsOfWholeRuns(t *testing.T) {
	recording(t)
	p := startProcesses(t)
	if code := p.end(); code != exitLanded {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	keepJournal(t, p.out, "match")
	for name, args := range map[string][]string{
		"verify": {"verify", p.rig.Path},
		"survey": {"survey", p.rig.Path},
		"probe":  {"profile", "probe", p.rig.Path, "wash"},
	} {
		p.again(append(args, "--live", "--yes")...)
		keepJournal(t, p.out, name)
	}
}

func TestRecordJournalsCutShort(t *testing.T) {
	recording(t)
	for name, end := range map[string]func(p *processRun) error{
		"stopped": func(p *processRun) error { return p.match.Process.Signal(os.Interrupt) },
		"killed":  func(p *processRun) error { return p.match.Process.Kill() },
		"faulted": func(p *processRun) error { // a silent meter only pauses a run: a person ends it
			if err := p.stage.cmd.Process.Kill(); err != nil {
				return err
			}
			p.waitLine("PAUSED")
			return p.match.Process.Signal(os.Interrupt)
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := startProcesses(t)
			p.waitRead("cob", 1)
			if err := end(p); err != nil {
				t.Fatal(err)
			}
			p.end()
			keepJournal(t, p.out, name)
		})
	}
}

// A lamp that gives no light in a dark room: its readings are set aside.
func TestRecordJournalOfADarkLamp(t *testing.T) {
	recording(t)
	p := startProcessesOn(t, "seed: 7\nmeter: {integration_ms: 80, period_ms: 100}\nlamps: [{fixture: cob, dead: true}]\n")
	if code := p.end(); code != exitNotAll || !strings.Contains(p.text.String(), "set aside") {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	keepJournal(t, p.out, "dark")
}

func TestRecordJournalByHand(t *testing.T) {
	recording(t)
	dir, _, _ := handRun(t)
	keepJournal(t, filepath.Join(dir, "out"), "byhand")
}

func TestRecordJournalOfAnOverlay(t *testing.T) {
	recording(t)
	if !inNamespace(t, "TestRecordJournalOfAnOverlay") {
		return
	}
	p, _, stop := besideADesk(t)
	defer stop()
	if code := p.end(); code != exitLanded {
		t.Fatalf("exit code %d:\n%s", code, p.text.String())
	}
	keepJournal(t, p.out, "overlay")
}
