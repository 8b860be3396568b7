package page

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/profiles/userfile"
)

// Earlier is a run that has ended, or broke off.
type Earlier struct {
	Name     string    `json:"name" doc:"of its folder"`
	Work     string    `json:"work"`
	Began    time.Time `json:"began"`
	Target   string    `json:"target"`
	Lead     string    `json:"lead" doc:"what came of it"`
	Complete bool      `json:"complete" doc:"false: it broke off, and can be gone on with"`
	Files    []string  `json:"files"`
}

const (
	listed     = 12       // runs that are shown
	looked     = 200      // folders that are looked into for them
	largestOut = 32 << 20 // of a file that is handed out
)

// runs are those of one rig. Summaries are kept, for a journal of hours takes seconds to read.
type runs struct {
	root, rig string
	busy      func() bool // a run is at work; nil: never

	mu   sync.Mutex
	kept map[string]keptRun
}

type keptRun struct {
	size int64
	sum  *session.Summary
	at   time.Time     // when it was read
	took time.Duration // to read it
}

// kinds are the files of a run that are handed out.
var kinds = map[string]string{"report.html": "text/html; charset=utf-8", "settings.csv": "text/csv; charset=utf-8", "settings.json": "application/json", session.JournalName: "application/x-ndjson"}

var errNoRun = errors.New("no such run of this rig")

// names are the folders that may be runs, newest first.
func (r *runs) names() ([]string, error) {
	all, err := os.ReadDir(r.root)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var out []string
	for _, e := range slices.Backward(all) {
		if e.IsDir() {
			out = append(out, e.Name())
		}
	}
	return out, err
}

func (r *runs) list() ([]Earlier, error) {
	names, err := r.names()
	out := []Earlier{}
	for i, n := range names {
		if i >= looked || len(out) >= listed {
			break
		}
		s, err := r.summary(n)
		if err != nil {
			continue
		}
		e := Earlier{Name: n, Work: s.Info.Work, Began: s.Started, Target: s.Info.Target, Lead: report.Lead(s), Complete: s.Complete, Files: []string{}}
		for k := range kinds {
			if i, err := os.Stat(filepath.Join(r.root, n, k)); err == nil && i.Mode().IsRegular() {
				e.Files = append(e.Files, k)
			}
		}
		slices.Sort(e.Files)
		out = append(out, e)
	}
	return out, err
}

// summary reads a run, by the name of its folder and by no other way.
func (r *runs) summary(name string) (*session.Summary, error) {
	names, err := r.names()
	if err != nil || !slices.Contains(names, name) {
		return nil, errNoRun
	}
	path := filepath.Join(r.root, name, session.JournalName)
	i, err := os.Stat(path)
	if err != nil {
		return nil, errNoRun
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	k, ok := r.kept[name]
	if !ok || k.size != i.Size() && !r.lately(k) {
		began := time.Now()
		f, err := userfile.Open(path, userfile.Journal)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		if k.sum, err = session.ReadSummary(f); err != nil {
			return nil, fmt.Errorf("run %s: %w", name, err)
		}
		k.size, k.at = i.Size(), time.Now()
		k.took = k.at.Sub(began)
		if r.kept == nil || len(r.kept) > looked {
			r.kept = map[string]keptRun{}
		}
		r.kept[name] = k
	}
	if k.sum.Info.Rig != r.rig {
		return nil, errNoRun
	}
	return k.sum, nil
}

// lately tells that a journal which grows was read so shortly ago that reading it again for whoever asks would take more than a
// tenth of a core from the run that writes it. What a run has come to when it is over is always read.
func (r *runs) lately(k keptRun) bool {
	return r.busy != nil && r.busy() && time.Since(k.at) < 10*k.took
}

// file reads one of the files of a run that are handed out.
func (r *runs) file(run, name string) (text []byte, kind string, err error) {
	kind, ok := kinds[name]
	if _, err := r.summary(run); err != nil || !ok {
		return nil, "", errNoRun
	}
	f, err := userfile.Open(filepath.Join(r.root, run, name), userfile.Journal)
	if err != nil {
		return nil, "", errors.New("this run has no such file")
	}
	defer f.Close()
	text, err = io.ReadAll(io.LimitReader(f, largestOut+1))
	if err == nil && len(text) > largestOut {
		err = errors.New("this file is too large for a page: copy it from the program's machine")
	}
	return text, kind, err
}
