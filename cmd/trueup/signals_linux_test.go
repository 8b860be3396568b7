package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A closed terminal, a dropped connection and every other signal that can be caught
// end a run as Ctrl-C does: a ramp to the look at the start, the end of the stream in
// order, a report, and the reason in the journal.
func TestEverySignalEndsARunGently(t *testing.T) {
	for name, sig := range map[string]syscall.Signal{"terminal closed": syscall.SIGHUP, "quit": syscall.SIGQUIT, "user": syscall.SIGUSR1, "alarm": syscall.SIGALRM} {
		t.Run(name, func(t *testing.T) {
			p := startProcesses(t)
			p.waitRead("wash", 1)
			if err := p.match.Process.Signal(sig); err != nil {
				t.Fatal(err)
			}
			if code := p.end(); code != exitStopped {
				t.Errorf("exit code %d, want %d:\n%s", code, exitStopped, p.text.String())
			}
			p.checkPackets(true)
			if s := p.summary(); s.Stop == "" || s.Complete {
				t.Errorf("the journal says stop %q, complete %v", s.Stop, s.Complete)
			}
			if found, _ := filepath.Glob(filepath.Join(p.out, "*", "report.html")); len(found) != 1 {
				t.Error("no report was written")
			}
		})
	}
}

// A closed terminal and programs that end a process and then its group send a signal twice at once. That is no person who asks again, in haste, to
// leave the lamps as they stand: it is one wish, and the run ends by a ramp.
func TestASignalThatComesTwiceAtOnceIsOneWish(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 1)
	for _, sig := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGTERM} {
		if err := p.match.Process.Signal(sig); err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * time.Millisecond) // of real time: two alike that wait are one
	}
	if code := p.end(); code != exitStopped || strings.Contains(p.text.String(), "left as they stood") {
		t.Errorf("exit code %d, want %d, and nothing left as it stood:\n%s", code, exitStopped, p.text.String())
	}
	p.checkPackets(true)
}

// Output that nobody reads any more ends nothing: the run goes on to its end.
func TestAClosedPipeEndsNothing(t *testing.T) {
	p := startProcesses(t, "sh", "-c", `"$0" "$@" | head -n 30`)
	if code := p.end(); code != 0 { // that of head
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	deadline := time.Now().Add(longWait)
	for time.Now().Before(deadline) { // the shell waits for both ends of the pipe
		if found, _ := filepath.Glob(filepath.Join(p.out, "*", "report.html")); len(found) == 1 {
			break
		}
		time.Sleep(200 * time.Millisecond)
	}
	p.checkPackets(true)
	if s := p.summary(); !s.Complete {
		t.Errorf("the run was not finished: stop %q\n%s", s.Stop, p.text.String())
	}
}

// Ctrl-Z does not freeze the program, which would stop the stream and let the lamps
// jump: it holds the run, which sends on, begins nothing, and goes on where it stood.
func TestCtrlZHoldsTheRun(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 1)
	press := func() {
		if err := p.match.Process.Signal(syscall.SIGTSTP); err != nil {
			t.Fatal(err)
		}
	}
	press()
	p.waitLine("held by a person")
	time.Sleep(3 * time.Second) // of real time: longer than receivers wait for data
	press()
	p.waitLine("goes on")
	if code := p.end(); !p.through(code) {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	p.checkPackets(true)
	if s := p.summary(); !s.Complete || len(s.Notes) != 2 {
		t.Errorf("complete %v, notes %q", s.Complete, s.Notes)
	}
}

// A journal that somebody deletes in mid-run can keep nothing any more: the run ends
// gently and says so, instead of measuring for nobody.
func TestADeletedJournalEndsTheRun(t *testing.T) {
	p := startProcesses(t)
	p.waitRead("wash", 1)
	found, err := filepath.Glob(filepath.Join(p.out, "*", "journal.jsonl"))
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	if err := os.Remove(found[0]); err != nil {
		t.Fatal(err)
	}
	if code := p.end(); code != exitNotAll {
		t.Errorf("exit code %d:\n%s", code, p.text.String())
	}
	if text := p.text.String(); !strings.Contains(text, "deleted or moved") {
		t.Errorf("not said:\n%s", text)
	}
	p.checkPackets(true)
}

// A start that is refused leaves no empty folder behind.
func TestARefusedStartLeavesNoFolder(t *testing.T) {
	t.Parallel()
	exe, err := exec.LookPath("trueup")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "rig.yaml")
	profiles := filepath.ToSlash(filepath.Join(moduleRoot(t), "examples", "profiles"))
	text := strings.NewReplacer("%s", "127.0.0.1:1", "%[3]s", profiles, "%%", "%").Replace(smallRig)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "match", path, "--live", "--yes", "--out", filepath.Join(dir, "out"))
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+filepath.Join(dir, "config"))
	said, err := cmd.CombinedOutput()
	if err == nil || !strings.Contains(string(said), "no light was moved") {
		t.Fatalf("%v\n%s", err, said)
	}
	if left, _ := os.ReadDir(filepath.Join(dir, "out")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}
