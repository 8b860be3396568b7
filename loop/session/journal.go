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

	"trueup/profiles/oserror"
	"trueup/profiles/userfile"
)

// JournalName is the journal's name in the folder of its run.
const JournalName = "journal.jsonl"

// Journal is the append-only record of a run: one JSON object a line. Append
// returns after its lines are on disk. It is safe for use by several goroutines.
type Journal struct {
	mu     sync.Mutex
	f      *os.File
	path   string
	seq    uint64
	now    func() time.Time
	listen func(Entry)
	err    error
}

// CreateJournal makes a new journal file; an existing file is never touched.
// Every entry is also handed to listen (may be nil) after it is on disk.
func CreateJournal(path string, now func() time.Time, listen func(Entry)) (*Journal, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY|os.O_APPEND, 0o644)
	if err != nil {
		return nil, fmt.Errorf("journal: %w", err)
	}
	if err := lockFile(f); err != nil {
		f.Close()
		return nil, fmt.Errorf("journal: %w", err)
	}
	return &Journal{f: f, path: path, now: now, listen: listen}, nil
}

// ReopenJournal goes on with the journal of a run that broke off. A last line cut short is
// taken away: the run never acted on it. It returns what stands in it, and fails where
// another process still writes it.
func ReopenJournal(path string, now func() time.Time, listen func(Entry)) (*Journal, []Entry, error) {
	text, err := userfile.Read(path, userfile.Journal)
	if err != nil {
		return nil, nil, fmt.Errorf("journal: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return nil, nil, fmt.Errorf("journal: %w", err)
	}
	fail := func(err error) (*Journal, []Entry, error) {
		f.Close()
		return nil, nil, err
	}
	if err := lockFile(f); err != nil {
		return fail(fmt.Errorf("%w: it still writes %s (%v). End it first", ErrOtherRun, path, err))
	}
	// Read before it was locked: some systems let nobody read what is locked.
	if now, err := f.Stat(); err != nil || now.Size() != int64(len(text)) {
		return fail(fmt.Errorf("%w: it has just written %s. End it first", ErrOtherRun, path))
	}
	entries, torn, err := ReadJournal(bytes.NewReader(text))
	if err != nil {
		return fail(err)
	}
	whole := bytes.LastIndexByte(text, '\n') + 1
	switch {
	case torn:
		err = f.Truncate(int64(whole))
	case whole < len(text):
		_, err = f.WriteString("\n")
	}
	if err != nil {
		return fail(fmt.Errorf("journal: %w", err))
	}
	return &Journal{f: f, path: path, seq: uint64(len(entries)), now: now, listen: listen}, entries, nil
}

// Append writes entries, all or (after a crash) the first of them, and waits until
// they are on disk. After a failed write every later Append fails too: a run whose
// journal is lost must end.
func (j *Journal) Append(entries ...Entry) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.err != nil || len(entries) == 0 {
		return j.err
	}
	var lines []byte
	at := j.now()
	for i := range entries {
		j.seq++
		entries[i].Seq, entries[i].Time = j.seq, at
		line, err := json.Marshal(entries[i])
		if err != nil {
			return j.lost(err)
		}
		lines = append(append(lines, line...), '\n')
	}
	if _, err := j.f.Write(lines); err != nil {
		return j.lost(err)
	}
	if err := j.f.Sync(); err != nil {
		return j.lost(err)
	}
	if err := j.stillThere(); err != nil {
		return j.lost(err)
	}
	if j.listen != nil {
		for _, e := range entries {
			j.listen(e)
		}
	}
	return nil
}

func (j *Journal) lost(err error) error {
	j.err = fmt.Errorf("journal: what was measured can no longer be kept: %w", err)
	return j.err
}

// stillThere notices that somebody deleted or replaced the file: what is written to a
// deleted file is lost with the process.
func (j *Journal) stillThere() error {
	ours, err := j.f.Stat()
	if err != nil {
		return err
	}
	named, err := os.Stat(j.path)
	if err != nil {
		return fmt.Errorf("the file was deleted or moved: %w", err)
	}
	if !os.SameFile(ours, named) {
		return fmt.Errorf("%s is another file now", j.path)
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
			return entries, false, damaged(n, 1, "%w", rerr)
		}
		var e Entry
		if uerr := json.Unmarshal(line, &e); uerr != nil {
			if errors.Is(rerr, io.EOF) {
				return entries, true, nil
			}
			return entries, false, damaged(n, oserror.JSONColumn(uerr), "not an entry of a run: %w", uerr)
		}
		if want := uint64(len(entries)) + 1; e.Seq != want {
			return entries, false, damaged(n, 1, "entry %d where %d belongs; a line is missing or doubled", e.Seq, want)
		}
		entries = append(entries, e)
		if errors.Is(rerr, io.EOF) {
			return entries, false, nil
		}
	}
}

// damaged names the place of a fault of a journal, and what can still be done.
func damaged(line, col int, format string, args ...any) error {
	remedy := "take a whole copy of it; or cut it off before this line: what stands above can be read"
	if line == 1 {
		remedy = "take a whole copy of it; without its first line nothing of the run can be had back"
	}
	return fmt.Errorf("%s:%d:%d: %w; %s", JournalName, line, col, fmt.Errorf(format, args...), remedy)
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
