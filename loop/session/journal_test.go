package session

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/session/core"
)

func writeJournal(t *testing.T, n int) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	clock := time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)
	j, err := CreateJournal(path, func() time.Time { clock = clock.Add(time.Second); return clock }, nil)
	if err != nil {
		t.Fatal(err)
	}
	for range n {
		if err := j.Append(Entry{Kind: core.KindReading, Fixture: "cyc 1", Reading: &Measured{SigmaUV: 0.0005}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Cut anywhere, as a crash does it, a journal gives back every whole line.
func TestJournalCutAnywhereKeepsEveryWholeLine(t *testing.T) {
	whole := writeJournal(t, 4)
	for cut := 0; cut <= len(whole); cut++ {
		entries, torn, err := ReadJournal(bytes.NewReader(whole[:cut]))
		if err != nil {
			t.Fatalf("cut at %d: %v", cut, err)
		}
		lines := strings.Count(string(whole[:cut]), "\n")
		rest := cut - (strings.LastIndex(string(whole[:cut]), "\n") + 1)
		// A last line that lacks only its newline is whole as well.
		if len(entries) != lines && len(entries) != lines+1 {
			t.Fatalf("cut at %d: %d entries, %d whole lines", cut, len(entries), lines)
		}
		if torn != (rest > 0 && len(entries) == lines) {
			t.Fatalf("cut at %d: torn %v with %d bytes after the last whole line", cut, torn, rest)
		}
	}
}

func TestJournalSaysWhichLineIsDamaged(t *testing.T) {
	lines := strings.SplitAfter(string(writeJournal(t, 4)), "\n")
	for name, text := range map[string]string{
		"journal.jsonl:2:7: not an entry":          lines[0] + "{\"seq\":\n" + lines[2],
		"journal.jsonl:2:1: entry 3 where 2":       lines[0] + lines[2] + lines[3],
		"journal.jsonl:3:1: entry 2 where 3":       lines[0] + lines[1] + lines[1],
		"journal.jsonl:1:1: longer than any entry": strings.Repeat("x", maxJournalLine+2),
	} {
		_, _, err := ReadJournal(strings.NewReader(text))
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("got %v, want an error with %q", err, name)
		}
	}
}

func TestJournalNeverOverwrites(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	if err := os.WriteFile(path, []byte("yesterday's run\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := CreateJournal(path, time.Now, nil); err == nil {
		t.Fatal("an existing journal was opened for writing")
	}
}

func TestJournalListenerHearsOnlyWhatIsOnDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	j, err := CreateJournal(path, time.Now, func(e Entry) {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Error(err)
		}
		entries, torn, err := ReadJournal(bytes.NewReader(b))
		if err != nil || torn || uint64(len(entries)) != e.Seq {
			t.Errorf("entry %d announced with %d on disk (torn %v, %v)", e.Seq, len(entries), torn, err)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if err := j.Append(Entry{Kind: core.KindEnd}); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	if err := j.Append(Entry{Kind: core.KindEnd}); err == nil {
		t.Error("a closed journal took an entry")
	}
}

func FuzzReadJournal(f *testing.F) {
	f.Add([]byte(`{"seq":1,"kind":"run"}` + "\n"))           // one whole line
	f.Add([]byte(`{"seq":1,"kind":"run"}` + "\n" + `{"seq`)) // torn
	f.Add([]byte("\n\n"))                                    // empty lines
	f.Fuzz(func(t *testing.T, b []byte) {
		entries, _, _ := ReadJournal(bytes.NewReader(b))
		for i, e := range entries {
			if e.Seq != uint64(i)+1 {
				t.Fatalf("entry %d has sequence %d", i, e.Seq)
			}
		}
	})
}
