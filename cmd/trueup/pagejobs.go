package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"trueup/cmd/trueup/page"
	"trueup/colorcalc/expr"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
)

// pageJobs makes of what a page orders the same jobs as the commands.
type pageJobs struct {
	set         *settings
	path, stage string
	sig         *signals
	out         io.Writer
	log         zerolog.Logger
	site        *siteOfRun // nil: no broker hears of this machine
	shares      *sharing   // nil: no server keeps its history
}

// load reads the rig as its file is now.
func (p *pageJobs) load() (*rig.Rig, error) {
	r, err := rig.Load(p.path)
	if err != nil {
		return nil, err
	}
	return r, onStage(r, p.stage)
}

func (p *pageJobs) check(ctx context.Context) (string, []error) {
	var b bytes.Buffer
	found, err := lookAtAll(ctx, &b, p.set, p.path, p.stage, true)
	if err != nil {
		found.faults = append(found.faults, err)
	}
	return b.String(), found.faults
}

// prepare is what a [page.Control] asks for.
func (p *pageJobs) prepare(ctx context.Context, o page.Order) (*page.Prepared, error) {
	r, err := p.load()
	if err != nil {
		return nil, err
	}
	if err := retarget(r, o); err != nil {
		return nil, err
	}
	q := &page.Prepared{Open: session.Open}
	var notes []string
	switch work := core.Work(o.Work); work {
	case core.ByHand:
		q.Job, err = byHandJob(r, p.set, o.Only, p.log)
		q.Undo = true
	case core.Match, core.Survey, core.Verify:
		q.Job, notes, err = p.plain(r, work, o)
	case core.Points:
		q.Job, notes, err = p.points(r, o)
	case core.Recall:
		q.Job, notes, err = p.recall(r, o)
	case resumeWork:
		notes, err = p.resume(r, o, q)
	default:
		err = usageError("%q: want match, survey, verify, points, by hand, recall or resume", o.Work)
	}
	if err != nil {
		return nil, err
	}
	if q.Job.WriteUp == nil && q.Job.Work != core.Recall {
		q.Job.WriteUp = writeUp
	}
	p.showHere(q)
	dir, err := configDir()
	if err != nil {
		return nil, err
	}
	if q.Job.Work != core.ByHand && q.Job.Work != core.Points {
		q.After = func(run *session.Run) error {
			return saveLearnt(dir, r.Name, &learnt{run.Learnt(), timesToKeep(r, run.Times())}, q.Job.Compiled.Units, time.Now(), q.Job.Log)
		}
	}
	after := q.After
	q.After = func(run *session.Run) error {
		p.shares.run()
		if after == nil {
			return nil
		}
		return after(run)
	}
	q.Plan = planOf(q.Job)
	q.Plan.Notes = append(q.Plan.Notes, notes...)
	if q.Job.Work == core.ByHand {
		q.Plan.Output, q.Plan.MovesLight = "by hand: nothing is sent to any fixture; a person sets them", false
	}
	return q, nil
}

const resumeWork = core.Work("resume")

// showHere shows a run in the terminal too, a line for each thing that happens.
func (p *pageJobs) showHere(q *page.Prepared) {
	words := plainWords()
	q.Job.Listen = func(e session.Entry) {
		p.site.entry(e)
		if line := words(e); line != "" {
			fmt.Fprintln(p.out, line)
		}
	}
	open := q.Open
	q.Open = func(ctx context.Context, j session.Job) (*session.Run, error) {
		run, err := open(ctx, j)
		if err == nil {
			p.sig.armed(run)
		}
		return run, err
	}
}

// retarget puts another reference or colour in the place of the rig file's, and takes the best common colour where that is asked
// for, and by no other order that names what to match to.
func retarget(r *rig.Rig, o page.Order) error {
	switch {
	case o.Reference != "" && (o.Color != "" || o.BestCommon):
		return usageError("a reference beside a colour or the best common one: one of them can be matched to")
	case o.BestCommon && core.Work(o.Work) != core.Match:
		return usageError("the best common colour is for a match")
	case o.Reference != "":
		if _, ok := r.Fixture(o.Reference); !ok {
			return usageError("the rig has no fixture %q", o.Reference)
		}
		r.Target.Reference, r.Target.Color, r.Target.BestCommon = o.Reference, "", false
	case o.Color != "":
		if _, err := expr.Parse(o.Color); err != nil {
			return usageError("%v", err)
		}
		r.Target.Reference, r.Target.Color, r.Target.Freeze, r.Target.BestCommon = "", o.Color, false, false
	}
	r.Target.BestCommon = r.Target.BestCommon || o.BestCommon
	return nil
}

// plain is a job that drives the rig as its file says. notes are what a person should know before it begins.
func (p *pageJobs) plain(r *rig.Rig, work core.Work, o page.Order) (j session.Job, notes []string, err error) {
	j, err = newJob(r, work, p.set, p.log)
	if err != nil {
		return j, nil, err
	}
	j.Plan.WarmUp, j.Plan.AsFound = time.Duration(o.WarmUp)*time.Second, o.AsFound
	if work == core.Match {
		j.Plan.Watch = time.Duration(o.Watch) * time.Second
		if o.WatchNone {
			j.Plan.WatchShare = 0
		}
	}
	if j.Compiled, err = (&choice{only: o.Only}).of(r, j.Compiled); err != nil {
		return j, nil, err
	}
	if work == core.Verify {
		dir, err := p.runDir(o.Run)
		if err != nil {
			return j, nil, err
		}
		if err := verifies(&j, p.set, r, dir); err != nil {
			return j, nil, err
		}
	}
	if err := p.learnt(&j); err != nil {
		return j, nil, err
	}
	k, err := aimAtBestCommon(p.set, &j)
	if k != nil {
		notes = k.sentences()
	} else if n := beyondReach(p.set, j); err == nil && n != "" {
		notes = append(notes, n)
	}
	return j, notes, err
}

// learnt adds what earlier runs learnt.
func (p *pageJobs) learnt(j *session.Job) error {
	dir, err := configDir()
	if err != nil {
		return err
	}
	loadLearnt(dir, j.Rig.Name, j.Compiled.Units, time.Now(), j.Log).give(j)
	return nil
}

// runDir is the folder of a run by its name in the folder of all runs, and by nothing else; "" stays so.
func (p *pageJobs) runDir(name string) (string, error) {
	if name == "" {
		return "", nil
	}
	if name != filepath.Base(name) || strings.ContainsAny(name, `/\`) || name == ".." || name == "." {
		return "", usageError("%q is no name of a run", name)
	}
	return runFolder(p.set.Out, name)
}

// points has a person take the meter from point to point of the lit look.
func (p *pageJobs) points(r *rig.Rig, o page.Order) (j session.Job, notes []string, err error) {
	at, err := spotsOf("points", o.Points)
	if err != nil {
		return j, nil, err
	}
	named, err := p.runDir(o.Run)
	if err != nil {
		return j, nil, err
	}
	if j, err = newJob(r, core.Points, p.set, p.log); err != nil {
		return j, nil, err
	}
	dir, err := aimAtPoints(p.set, &j, at, o.Probe, named)
	if err != nil {
		return j, nil, err
	}
	return j, []string{fmt.Sprintf("the look of %s is lit, and read at %s; whoever operates is asked to take the meter to each", filepath.Base(dir), printable.Count(len(at), "point"))}, nil
}

func (p *pageJobs) recall(r *rig.Rig, o page.Order) (j session.Job, notes []string, err error) {
	dir, err := p.runDir(o.Run)
	if err != nil {
		return j, nil, err
	}
	dir, s, err := previousRun(p.set.Out, r.Name, dir)
	if err != nil {
		return j, nil, err
	}
	if j, err = newJob(r, core.Recall, p.set, p.log); err != nil {
		return j, nil, err
	}
	for _, f := range s.Fixtures {
		if o := f.Final(); o != nil && !o.Landed() {
			notes = append(notes, fmt.Sprintf("%s had not landed (%s)", f.Name, o.Result))
		}
	}
	return j, notes, putBack(&j, s, dir)
}

// resume takes the run of the order, or the newest of this rig that broke off.
func (p *pageJobs) resume(r *rig.Rig, o page.Order, q *page.Prepared) (notes []string, err error) {
	e, err := p.broken(r, o.Run)
	if err == nil {
		err = ofRig(e, r.Name)
	}
	if err != nil {
		return nil, err
	}
	if e.Work == core.ByHand {
		var only []string
		for _, f := range e.Info.Fixtures {
			if f.ByHand {
				only = append(only, f.Name)
			}
		}
		q.Job, err = byHandJob(r, p.set, only, p.log)
		q.Undo = true
	} else if q.Job, err = newJob(r, e.Work, p.set, p.log); err == nil {
		leaveOutAs(&q.Job, e.Info.Fixtures)
	}
	q.Open = func(ctx context.Context, j session.Job) (*session.Run, error) { return session.Resume(ctx, j, e) }
	if err != nil {
		return nil, err
	}
	otherwise, err := e.AsBegun(&q.Job)
	if otherwise != "" {
		notes = append(notes, otherwise)
	}
	return notes, err
}

func (p *pageJobs) broken(r *rig.Rig, name string) (*session.Earlier, error) {
	dir, err := p.runDir(name)
	if err != nil {
		return nil, err
	}
	if dir != "" {
		return session.Look(dir)
	}
	e, err := session.NewestBroken(p.set.Out)
	if err == nil && e.Info.Rig != r.Name {
		err = errors.New("the newest run that broke off is of another rig: choose a run")
	}
	return e, err
}
