package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// resume goes on with the only run, in a new process.
func (p *processRun) resume() {
	p.t.Helper()
	p.wire.forget()
	p.launch(p.exe, "resume", "--yes", "--out", p.out)
}

// kill ends the program as a power cut does, and looks at what it had sent.
func (p *processRun) kill() {
	p.t.Helper()
	p.match.Process.Kill()
	p.end()
	if len(p.wire.packets()) > 40 {
		p.checkPackets(false)
	}
}

// entries reads the journal of the run back.
func (p *processRun) entries() []session.Entry {
	p.t.Helper()
	found, _ := filepath.Glob(filepath.Join(p.out, "*", "journal.jsonl"))
	if len(found) != 1 {
		p.t.Fatalf("journals: %v", found)
	}
	f, err := os.Open(found[0])
	if err != nil {
		p.t.Fatal(err)
	}
	defer f.Close()
	entries, _, err := session.ReadJournal(f)
	if err != nil {
		p.t.Fatal(err)
	}
	return entries
}

// Killed at random moments, again and again, a run is resumed to its end: same outcomes,
// no reading lost, no lamp matched twice, no packet beyond a limit, and the one journal of all
// its processes plays again.
func TestARunKilledAtRandomMomentsIsResumed(t *testing.T) {
	t.Parallel()
	runs := 2
	if os.Getenv("TRUEUP_LONG") == "1" {
		runs = 13 // some fifty moments
	}
	for n := range runs {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			rng := rand.New(rand.NewPCG(uint64(n), 11))
			p := startProcesses(t)
			p.waitLine("limits in force")
			var before []session.Entry
			for range 4 {
				time.Sleep(time.Duration(2000+rng.IntN(5000)) * time.Millisecond) // the moment is what is drawn
				p.kill()
				before = p.entries()
				if before[len(before)-1].Kind == core.KindEnd {
					break // it was faster
				}
				p.resume()
				p.waitLine("resuming:")
			}
			code := p.end()
			s := p.summary()
			if !s.Complete || s.Stop != "" || code != exitLanded && code != exitNotAll && code != -1 {
				t.Errorf("exit code %d, complete %v, stop %q:\n%s", code, s.Complete, s.Stop, p.text.String())
			}
			if code == exitLanded && len(p.wire.packets()) > 40 { // the last process may have had next to nothing to do
				p.checkPackets(true)
			}
			outcomes, last := map[string]int{}, time.Duration(0)
			all := p.entries()
			for i, e := range before {
				if r := e.Reading; r != nil && (all[i].Reading == nil || r.MeterSeq != all[i].Reading.MeterSeq) {
					t.Errorf("entry %d: a reading from before the last kill is lost", e.Seq)
				}
			}
			for _, e := range all {
				if e.Kind == core.KindOutcome {
					outcomes[e.Fixture]++
				}
				if e.Event != nil {
					if e.Event.At < last {
						t.Errorf("entry %d: the run's clock goes back", e.Seq)
					}
					last = e.Event.At
				}
			}
			for _, f := range s.Fixtures[1:] {
				if outcomes[f.Name] != 1 || f.Final() == nil || f.Final().Readings < 2 {
					t.Errorf("%s was matched %d times: %+v", f.Name, outcomes[f.Name], f.Final())
				}
			}
		})
	}
}

// A run is gone on with in its own rig alone; that it is of another is said before anything is shown or asked.
func TestARunOfAnotherRigIsNotResumed(t *testing.T) {
	e := &session.Earlier{Dir: filepath.Join("out", "one")}
	e.Info.Rig = "Hall"
	if err := ofRig(e, "Hall"); err != nil {
		t.Error(err)
	}
	if err := ofRig(e, "Yard"); err == nil || err.Error() != `the run one is of the rig "Hall", not of "Yard"` {
		t.Errorf("another rig: %v", err)
	}
}

// Light moves only where somebody says so, of a run that is gone on with too: it shows what will be driven and asks.
func TestARunIsGoneOnWithWhenSomebodySaysSo(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", dir) // no settings of this machine
	t.Setenv("HOME", dir)
	lamp, err := filepath.Abs("../../examples/profiles/wiffelmoor-wash-8.yaml")
	if err != nil {
		t.Fatal(err)
	}
	path, run := filepath.Join(dir, "rig.yaml"), filepath.Join(dir, "runs", "cut")
	text := "rig: small\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: meter, kind: tcp, address: \"127.0.0.1:7311\"}]\ntarget: {color: D56}\n" +
		"fixtures:\n  - {name: lamp, profile: " + filepath.ToSlash(lamp) + ", address: 1/1}\n"
	if err := errors.Join(os.WriteFile(path, []byte(text), 0o644), os.MkdirAll(run, 0o755)); err != nil {
		t.Fatal(err)
	}
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	j, err := newJob(r, core.Match, &settings{}, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	began := j.Config()
	journal, err := session.CreateJournal(filepath.Join(run, session.JournalName), time.Now, nil)
	if err != nil {
		t.Fatal(err)
	}
	info := &session.RunInfo{Version: core.JournalVersion, Rig: "small", RigFile: "rig.yaml", Work: string(core.Match), Core: &began}
	for _, u := range j.Compiled.Units {
		info.Fixtures = append(info.Fixtures, u.Info)
	}
	if err := errors.Join(journal.Append(session.Entry{Kind: core.KindRun, Run: info}), journal.Close()); err != nil {
		t.Fatal(err)
	}
	c := newRoot()
	var out bytes.Buffer
	c.SetIn(&bytes.Buffer{})
	c.SetOut(&out)
	c.SetErr(&out)
	c.SetArgs([]string{"resume", "cut", "--rig", path, "--out", filepath.Dir(run)})
	if err := c.Execute(); err == nil || !strings.Contains(err.Error(), "add --yes") {
		t.Errorf("it ended with %v", err)
	}
	for _, want := range []string{"slots that will be driven", "Flashing light"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("not shown: %q\n%s", want, &out)
		}
	}
}
