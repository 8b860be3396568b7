package session_test

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"trueup/loop/session"
)

// oldJournals are the recorded journals of every version of the format.
const oldJournals = "../../testdata/journals/*/*.jsonl"

// plainEntry is what every version of the format has in common, read here
// without the code under test.
type plainEntry struct {
	Kind    string
	Fixture string
	Note    string
	Reading *struct{ UV struct{ U, V float64 } }
	Outcome *struct {
		Result string
		After  struct{ Codes []uint32 }
	}
	Run *struct {
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

// What a run of an earlier version found is still known: the journals that
// version wrote are read whole, and say what was read, set and concluded then.
func TestJournalsOfEarlierVersionsAreRead(t *testing.T) {
	paths, err := filepath.Glob(oldJournals)
	if err != nil || len(paths) < 8 {
		t.Fatalf("recorded journals: %v %v", paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(filepath.Dir(path))+"/"+filepath.Base(path), func(t *testing.T) {
			plain := plainJournal(t, path)
			f, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			s, err := session.ReadSummary(f)
			if err != nil {
				t.Fatal(err)
			}
			run := plain[0].Run
			if s.Torn || s.Info.Rig != run.Rig || s.Info.Work != run.Work || s.Info.Mode != run.Mode || len(s.Fixtures) != len(run.Fixtures) {
				t.Fatalf("torn %v, %q %q %q with %d fixtures; the journal says %+v", s.Torn, s.Info.Rig, s.Info.Work, s.Info.Mode, len(s.Fixtures), run)
			}
			readings, stop, complete := 0, "", false
			last, trace := map[string]plainEntry{}, map[string]int{}
			for _, e := range plain {
				if e.Reading != nil {
					readings++
					if e.Kind == "reading" || e.Kind == "found" {
						trace[e.Fixture]++
					}
				}
				switch e.Kind {
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
				got := f.Final()
				if (got != nil) != matched {
					t.Errorf("%s: outcome %v, the journal has one: %v", f.Name, got, matched)
					continue
				}
				if got == nil {
					continue
				}
				if got.Result.String() != want.Outcome.Result {
					t.Errorf("%s: %q, the journal says %q", f.Name, got.Result, want.Outcome.Result)
				}
				if got.After == nil {
					if len(want.Outcome.After.Codes) > 0 {
						t.Errorf("%s: no setting, the journal says %v", f.Name, want.Outcome.After.Codes)
					}
					continue
				}
				if len(got.After.Codes) != len(want.Outcome.After.Codes) {
					t.Fatalf("%s: set to %v, the journal says %v", f.Name, got.After.Codes, want.Outcome.After.Codes)
				}
				for i, c := range got.After.Codes {
					if c != want.Outcome.After.Codes[i] {
						t.Errorf("%s: set to %v, the journal says %v", f.Name, got.After.Codes, want.Outcome.After.Codes)
					}
				}
			}
		})
	}
}
