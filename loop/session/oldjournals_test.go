package session_test

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// oldJournals are the recorded journals of every version of the format.
const oldJournals = "../../testdata/journals/*/*.jsonl"

// plainEntry is what every version of the format has in common, read here
// without the code under test.
type plainEntry struct {
	Kind    string
	Fixture string
	Note    string
	Reading *struct {
		UV       struct{ U, V float64 }
		MeterSeq uint64 `json:"meter_seq"`
	}
	Outcome *struct {
		Result string
		After  struct{ Codes []uint32 }
	}
	Run *struct {
		Version                  int
		Rig, Work, Mode, Program string
		Fixtures                 []struct{ Name string }
	}
}

func plainJournal(t *testing.T, path string) []plainEntry {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []plainEntry
	in := bufio.NewScanner(f)
	in.Buffer(nil, 1<<20)
	for in.Scan() {
		var e plainEntry
		if err := json.Unmarshal(in.Bytes(), &e); err != nil {
			t.Fatalf("%s, line %d: %v", path, len(all)+1, err)
		}
		all = append(all, e)
	}
	return all
}

// summaryOfRecorded reads a recorded journal with the code under test.
func summaryOfRecorded(t *testing.T, path string) *session.Summary {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := session.ReadSummary(f)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// entriesOfRecorded reads a recorded journal with the code under test.
func entriesOfRecorded(t *testing.T, path string) []session.Entry {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	entries, _, err := session.ReadJournal(f)
	if err != nil {
		t.Fatal(err)
	}
	return entries
}

// recordedJournals are tested one by one.
func recordedJournals(t *testing.T, pattern string, atLeast int, test func(t *testing.T, path string)) {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) < atLeast {
		t.Fatalf("recorded journals: %v %v", paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(filepath.Dir(path))+"/"+filepath.Base(path), func(t *testing.T) { test(t, path) })
	}
}

// What a run of an earlier version found is still known: the journals that
// version wrote are read whole, and say what was read, set and concluded then.
func TestJournalsOfEarlierVersionsAreRead(t *testing.T) {
	recordedJournals(t, oldJournals, 18, func(t *testing.T, path string) {
		plain, s := plainJournal(t, path), summaryOfRecorded(t, path)
		run := plain[0].Run
		if s.Torn || s.Info.Rig != run.Rig || s.Info.Work != run.Work || s.Info.Mode != run.Mode || len(s.Fixtures) != len(run.Fixtures) {
			t.Fatalf("torn %v, %q %q %q with %d fixtures; the journal says %+v", s.Torn, s.Info.Rig, s.Info.Work, s.Info.Mode, len(s.Fixtures), run)
		}
		readings, stop, complete := 0, "", false
		last, trace := map[string]plainEntry{}, map[string]int{}
		for _, e := range plain {
			// From version 2 on each reading of a background has an entry, and their mean one more.
			mean := run.Version >= 2 && (e.Kind == "background" || e.Kind == "drift") && e.Reading != nil && e.Reading.MeterSeq == 0
			if e.Reading != nil && !mean {
				readings++
			}
			switch e.Kind {
			case "reading", "found", "set aside":
				trace[e.Fixture]++
			case "stop":
				stop = e.Note
			case "end":
				complete = true
			case "outcome", "verify":
				last[e.Fixture] = e
			}
		}
		if s.Readings != readings || s.Stop != stop || s.Complete != complete {
			t.Errorf("%d readings, stop %q, complete %v; the journal has %d, %q, %v", s.Readings, s.Stop, s.Complete, readings, stop, complete)
		}
		for _, f := range s.Fixtures {
			if len(f.Trace) != trace[f.Name] {
				t.Errorf("%s: %d readings on its way, the journal has %d", f.Name, len(f.Trace), trace[f.Name])
			}
			want, matched := last[f.Name]
			checkFinal(t, f.Name, f.Final(), want, matched)
		}
	})
}

// checkFinal holds how a fixture ended to the last entry that says so.
func checkFinal(t *testing.T, name string, got *session.Outcome, want plainEntry, matched bool) {
	t.Helper()
	if (got != nil) != matched {
		t.Errorf("%s: outcome %v, the journal has one: %v", name, got, matched)
		return
	}
	if got == nil {
		return
	}
	if got.Result.String() != want.Outcome.Result {
		t.Errorf("%s: %q, the journal says %q", name, got.Result, want.Outcome.Result)
	}
	var codes []uint32
	if got.After != nil {
		codes = got.After.Codes
	}
	if !slices.Equal(codes, want.Outcome.After.Codes) {
		t.Errorf("%s: set to %v, the journal says %v", name, codes, want.Outcome.After.Codes)
	}
}

// A recorded run of every kind, whole or cut short, played again through the core gives
// the same decisions, bit for bit.
func TestRecordedRunsPlayAgain(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("recorded on amd64; where multiplication and addition are fused (Go specification, floating-point operators) figures differ in their last bit")
	}
	kinds := map[string]bool{}
	recordedJournals(t, "../../testdata/journals/v2/*.jsonl", 10, func(t *testing.T, path string) {
		kinds[strings.TrimSuffix(filepath.Base(path), ".jsonl")] = true
		entries := entriesOfRecorded(t, path)
		c, err := core.Replay(entries)
		if err != nil {
			t.Fatal(err)
		}
		last := entries[len(entries)-1].Kind
		if c.Over() != (last == core.KindEnd || last == core.KindStop) {
			t.Errorf("over %v, the journal ends with %s", c.Over(), last)
		}
	})
	for _, k := range []string{"match", "verify", "survey", "byhand", "overlay", "probe", "stopped", "killed", "faulted", "dark"} {
		if !kinds[k] {
			t.Errorf("no recorded run %q", k)
		}
	}
}
