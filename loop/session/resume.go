package session

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Earlier is a run that broke off, by a crash, a power cut or a person, and can be gone on
// with.
type Earlier struct {
	Dir  string
	Info RunInfo
	Work core.Work
}

// Look reads what a run was and tells whether it can be gone on with: the error says why
// not. Nothing is changed.
func Look(dir string) (*Earlier, error) {
	s, err := summaryOf(filepath.Join(dir, JournalName))
	if err != nil {
		return nil, err
	}
	e := &Earlier{Dir: dir, Info: s.Info}
	switch {
	case s.Info.Core == nil:
		return nil, fmt.Errorf("%s: its journal is of version 1, which holds too little to go on with; match the rig again", dir)
	case s.Complete:
		return nil, fmt.Errorf("%s: this run has come to its end: there is nothing to go on with; 'trueup verify' reads its fixtures again, 'trueup recall' puts its look back", dir)
	case !slices.Contains([]core.Work{core.Match, core.Survey, core.Verify, core.ByHand}, s.Info.Core.Work):
		return nil, fmt.Errorf("%s: %w", dir, begunAgain(s.Info.Core.Work))
	}
	e.Work = s.Info.Core.Work
	return e, nil
}

// RigPath is where the rig file of the run lay when it began; "" where its journal does not
// tell.
func (e *Earlier) RigPath() string { return RigPath(e.Dir, &e.Info) }

// RigPath is where the rig file of the run in a folder lay when it began; "" where its
// journal does not tell.
func RigPath(dir string, i *RunInfo) string {
	if i.RigPath == "" {
		return ""
	}
	return filepath.Join(dir, filepath.FromSlash(i.RigPath))
}

// rigFrom is the way from a run's folder to its rig file, so that both may be moved
// together; "" where there is none.
func rigFrom(dir, path string) string {
	a, err := filepath.Abs(dir)
	b, err2 := filepath.Abs(path)
	if errors.Join(err, err2) != nil {
		return ""
	}
	way, err := filepath.Rel(a, b)
	if err != nil {
		return ""
	}
	return filepath.ToSlash(way)
}

// Resume arms an earlier run again: its journal is played, so that all that was known is
// known, and written on. The rig must be as it was. Like [Open] it moves no light.
func Resume(ctx context.Context, j Job, e *Earlier) (*Run, error) {
	if _, err := e.AsBegun(&j); err != nil {
		return nil, err
	}
	j.Learnt = nil
	return open(ctx, j, e)
}

// AsBegun gives a job the work and the plan that the run began with: those are gone on with, whatever the rig wishes now. The note says what
// it wishes otherwise; it is "" where that is nothing. The error says what of the fixtures is not as it was: then the run can not be gone on with.
func (e *Earlier) AsBegun(j *Job) (note string, err error) {
	if err := j.sameRig(e.Info.Core); err != nil {
		return "", fmt.Errorf("%s: %w", e.Dir, err)
	}
	now := j.wishes()
	j.Work, j.Plan = e.Work, e.Info.Core.Plan
	if then := j.wishes(); then != now {
		note = fmt.Sprintf("the run goes on with what it began with: %s. What the rig says now (%s) is for a new run", then, now)
	}
	return note, nil
}

// wishes says what fixtures are matched to, and within which tolerance.
func (j *Job) wishes() string {
	p := &j.Plan
	text := fmt.Sprintf("%s, tolerance %.4f", j.TargetText(), p.Tolerance)
	switch p.Common {
	case core.NoCommon:
	case core.CommonLux:
		text += fmt.Sprintf(", all at %g lux", p.Lux)
	default:
		text += fmt.Sprintf(", all at one level (%s)", p.Common)
	}
	return text
}

// brokenOff is where a run broke off.
type brokenOff struct {
	entries []Entry
	missing []Entry // what a crash kept from the journal
}

// takeUp opens the journal of an earlier run and plays it.
func (r *Run) takeUp(e *Earlier) (err error) {
	b := &brokenOff{}
	r.dir = e.Dir
	if r.journal, b.entries, err = ReopenJournal(r.journalPath(), time.Now, r.job.Listen); err != nil {
		return err
	}
	if r.core, b.missing, err = core.Restore(b.entries); err != nil {
		return fmt.Errorf("%s: this program (%s) would have decided otherwise than the one that wrote the journal (%s), so it can not go on: %w. "+
			"Go on with that version, or match again and leave out what has landed with --skip", e.Dir, r.job.Program, e.Info.Program, err)
	}
	r.job.Learnt = r.core.Learnt()
	r.brokeOff = b
	return nil
}

// Learnt is what is known of the types of the units, with what the run has added, by
// Unit.Type. It is read when the run is over.
func (r *Run) Learnt() map[string]*solve.Batch { return r.core.Learnt() }

// Times is what the run found of what lamps do in time. It is read when the run is over.
func (r *Run) Times() core.TypeTimes { return r.core.TypeTimes() }

// Before is the journal of the run before it broke off; nil for a run that began now.
func (r *Run) Before() []Entry {
	if r.brokeOff == nil {
		return nil
	}
	return r.brokeOff.entries
}

// goOn has the shell begin where an earlier run broke off.
func (r *Run) goOn(sh *shell) {
	b := r.brokeOff
	if b == nil || !r.core.Begun() {
		return
	}
	last := r.core.Now()
	clock := last + max(0, time.Since(b.entries[len(b.entries)-1].Time))
	sh.start = time.Now().Add(-clock)
	sh.first = core.Event{Kind: core.Resumed, When: last}
	sh.due = b.missing
}

// sameRig tells what is not as it was when a run began: its decisions would mean something else.
func (j *Job) sameRig(was *core.Config) error {
	now := j.Config()
	if len(now.Units) != len(was.Units) {
		return fmt.Errorf("the rig had %d heads when the run began, and has %d now: begin a new run", len(was.Units), len(now.Units))
	}
	for i := range was.Units {
		a, b := was.Units[i], now.Units[i]
		// A desk may have set it otherwise meanwhile.
		a.Rest, a.Found, b.Rest, b.Found = nil, nil, nil, nil
		b.SettleKnown = b.SettleKnown || a.SettleKnown && ReadByHand(j.Rig) // a person takes longer than any lamp
		if a.Info.Name != b.Info.Name {
			return fmt.Errorf("the rig has %s now where it had %s when the run began: put it back, or begin a new run", b.Info.Name, a.Info.Name)
		}
		x, err := json.Marshal(a)
		y, err2 := json.Marshal(b)
		if err = errors.Join(err, err2); err != nil {
			return err
		}
		if string(x) != string(y) {
			return fmt.Errorf("%s is not what it was when the run began: its profile, mode, address, probe or level was changed since; put it back, or begin a new run", b.Info.Name)
		}
	}
	return nil
}

// NewestBroken finds the newest run below root that can be gone on with.
func NewestBroken(root string) (*Earlier, error) {
	dirs, err := filepath.Glob(filepath.Join(root, "*", JournalName))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(dirs, func(a, b string) int { return strings.Compare(b, a) })
	newest := ""
	for i, d := range dirs {
		e, err := Look(filepath.Dir(d))
		if err == nil {
			return e, nil
		}
		if again := begunAgain(""); i == 0 && errors.As(err, &again) {
			newest = "; the newest, " + err.Error()
		}
	}
	return nil, fmt.Errorf("no run in %s has broken off: there is nothing to go on with%s", root, newest)
}

// begunAgain is why a run that was not ended in order is not gone on with: its work holds no more than the look of an earlier run.
type begunAgain core.Work

func (w begunAgain) Error() string {
	text := fmt.Sprintf("a run of the kind %q is begun again, not gone on with", core.Work(w))
	if core.Work(w) == core.Keep || core.Work(w) == core.Recall {
		text += fmt.Sprintf(" (trueup %s)", core.Work(w))
	}
	return text
}
