package session

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"
)

// Entry is one line of the journal: what happened, to which fixture, when. Only
// the part that its Kind names is set. The journal holds everything that was
// measured and everything that was sent; the report, the settings sheet and a
// resumed run are made from it and from nothing else.
type Entry struct {
	Seq     uint64    `json:"seq"`
	Time    time.Time `json:"time"`
	Kind    Kind      `json:"kind"`
	Fixture string    `json:"fixture,omitempty"`
	Note    string    `json:"note,omitempty"`

	Run       *RunInfo   `json:"run,omitempty"`
	Reference *Reference `json:"reference,omitempty"`
	Step      *Step      `json:"step,omitempty"`
	Reading   *Measured  `json:"reading,omitempty"`
	Account   *Account   `json:"account,omitempty"`
	Outcome   *Outcome   `json:"outcome,omitempty"`
}

// Kind says what an entry records.
type Kind string

// The kinds of entry, in the order in which a run writes them.
const (
	KindRun        Kind = "run"        // what is about to be done, with which limits
	KindBackground Kind = "background" // a probe with every fixture of the run dark
	KindReference  Kind = "reference"  // the light everything is matched to
	KindSettle     Kind = "settle"     // readings that measure a dead time; they count for nothing else
	KindFound      Kind = "found"      // a fixture as found, before any matching
	KindStep       Kind = "step"       // parameters decided on, written before they are sent
	KindSent       Kind = "sent"       // what the governor let through, when it had arrived
	KindReading    Kind = "reading"    // one reading, as it came
	KindAccount    Kind = "account"    // what the estimate made of that reading
	KindOutcome    Kind = "outcome"    // how a fixture ended
	KindVerify     Kind = "verify"     // a fixture read again after the whole rig was done
	KindLevel      Kind = "level"      // the common level that all are brought to
	KindDrift      Kind = "drift"      // the background read again at the end
	KindConflict   Kind = "conflict"   // another source owns the light: readings are void
	KindStop       Kind = "stop"       // a person, a signal or a fault ended the run early
	KindEnd        Kind = "end"        // the run ended in order
)

// Journal is the append-only record of a run: one JSON object a line. Append
// returns after the line is on disk. It is safe for use by several goroutines.
type Journal struct {
	mu     sync.Mutex
	f      *os.File
	seq    uint64
	now    func() time.Time
	listen func(Entry)
	err    error
}

// CreateJournal makes a new journal file; an existing file is never touched.
// Every entry is also handed to listen (may be nil) after it is on disk.
func CreateJournal(path string, now func() time.Time, listen func(Entry)) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	return &Journal{f: f, now: now, listen: listen}, nil
}

// Append writes one entry and waits until it is on disk. After a failed write
// every later Append fails too: a run whose journal is lost must end.
func (j *Journal) Append(e Entry) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.err != nil {
		return j.err
	}
	j.seq++
	e.Seq = j.seq
	e.Time = j.now()
	line, err := json.Marshal(e)
	if err == nil {
		_, err = j.f.Write(append(line, '\n'))
	}
	if err == nil {
		err = j.f.Sync()
	}
	if err != nil {
		j.err = fmt.Errorf("journal: what was measured can no longer be kept: %w", err)
		return j.err
	}
	if j.listen != nil {
		j.listen(e)
	}
	return nil
}

// Close closes the file. Entries are on disk already.
func (j *Journal) Close() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.err == nil {
		j.err = errors.New("journal: closed")
	}
	return j.f.Close()
}

// maxJournalLine bounds a line on reading; a spectrum of 1 nm fits many times.
const maxJournalLine = 1 << 20

// ReadJournal reads a journal back. A last line cut short, as a crash leaves
// it, is left out and reported by torn; damage anywhere else is an error that
// names the line.
func ReadJournal(r io.Reader) (entries []Entry, torn bool, err error) {
	br := bufio.NewReaderSize(r, 64<<10)
	for n := 1; ; n++ {
		line, rerr := readLine(br)
		if errors.Is(rerr, io.EOF) && len(line) == 0 {
			return entries, false, nil
		}
		if rerr != nil && !errors.Is(rerr, io.EOF) {
			return entries, false, fmt.Errorf("journal: line %d: %w", n, rerr)
		}
		var e Entry
		if uerr := json.Unmarshal(line, &e); uerr != nil {
			if errors.Is(rerr, io.EOF) {
				return entries, true, nil
			}
			return entries, false, fmt.Errorf("journal: line %d: not an entry: %w", n, uerr)
		}
		if want := uint64(len(entries)) + 1; e.Seq != want {
			return entries, false, fmt.Errorf("journal: line %d: entry %d where %d belongs; a line is missing or doubled", n, e.Seq, want)
		}
		entries = append(entries, e)
		if errors.Is(rerr, io.EOF) {
			return entries, false, nil
		}
	}
}

func readLine(br *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		part, err := br.ReadSlice('\n')
		line = append(line, part...)
		if len(line) > maxJournalLine {
			return nil, errors.New("longer than any entry")
		}
		if errors.Is(err, bufio.ErrBufferFull) {
			continue
		}
		return bytes.TrimSuffix(line, []byte("\n")), err
	}
}
