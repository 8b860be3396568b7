package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

func newResumeCommand() *cobra.Command {
	var rigFile, stage string
	var yes bool
	c := &cobra.Command{
		Use:   "resume [RUN]",
		Short: "Go on with a run that a crash, a power cut or a person broke off",
		Long: `Goes on with the run whose folder is RUN (a path, or its name in the folder of all runs), or with the newest one that broke off.
Its journal is played again, so that all that was measured stands: fixtures that had landed are not matched again, the fixture that was worked at goes on
where it was. Background and reference are read again first; after a pause of five minutes or more fixtures that had been proven are read again too.
A run by hand goes on as well.

It moves light: it shows what will be driven and asks. The rig, its profiles and addresses must be as they were; target and tolerance stay those
that the run began with. The journal is written on, and
report and sheet are made anew, in the same folder.

Exit codes: 0 all fixtures landed; 1 something did not, or the run can not be gone on with; 2 wrong command line; 3 stopped by a person or a signal.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError("resume wants one run at the most (see 'trueup resume --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return resume(c, args, rigFile, stage, yes) },
	}
	c.Flags().StringVar(&rigFile, "rig", "", "the rig file, where it is not where it was when the run began")
	addStageFlag(c, &stage)
	c.Flags().BoolVar(&yes, "yes", false, "do not ask before light moves: people are warned and the stage is clear")
	return c
}

func resume(c *cobra.Command, args []string, rigFile, stage string, yes bool) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	var e *session.Earlier
	if len(args) == 0 {
		e, err = session.NewestBroken(set.Out)
	} else {
		var dir string
		if dir, err = runFolder(set.Out, args[0]); err == nil {
			e, err = session.Look(dir)
		}
	}
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	fmt.Fprintf(out, "going on with %s\n", e.Dir)
	path, err := rigFileOf(rigFile, e.RigPath(), e.Info.RigFile)
	if err != nil {
		return err
	}
	if e.Work == core.ByHand && stage != "" {
		return usageError("--stage: %s is a run by hand: what the rig says is read, and nothing is sent", e.Dir)
	}
	if e.Work == core.ByHand {
		return resumeByHand(c, set, path, e)
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	if err := ofRig(e, r.Name); err != nil {
		return err
	}
	if err := onStage(r, stage); err != nil {
		return err
	}
	j, err := newJob(r, e.Work, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	leaveOutAs(&j, e.Info.Fixtures)
	otherwise, err := e.AsBegun(&j)
	if err != nil {
		return err
	}
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	showPlan(out, j, otherwise)
	if err := confirm(c.InOrStdin(), out, yes); err != nil {
		return err
	}
	run, res, err := armedRun(c, sig, set, j, func(j session.Job) (*session.Run, error) { return session.Resume(sig.ctx, j, e) })
	if run != nil {
		dir, derr := configDir()
		if derr == nil {
			derr = saveLearnt(dir, r.Name, &learnt{run.Learnt(), timesToKeep(r, run.Times())}, j.Compiled.Units, time.Now(), j.Log)
		}
		err = errors.Join(err, derr)
	}
	return endOfRun(out, sig, j, res, err, func() error { printResult(out, res); return nil })
}

// ofRig refuses an earlier run of another rig.
func ofRig(e *session.Earlier, name string) error {
	if e.Info.Rig != name {
		return fmt.Errorf("the run %s is of the rig %q, not of %q", filepath.Base(e.Dir), e.Info.Rig, name)
	}
	return nil
}

// leaveOutAs makes a job leave out the fixtures that an earlier run left out. Where none would remain the job stays as it is, and
// the run says that there is nothing to do.
func leaveOutAs(j *session.Job, earlier []session.FixtureInfo) {
	if !slices.ContainsFunc(earlier, func(f session.FixtureInfo) bool { return f.LeftOut }) {
		return
	}
	chosen := session.Choose(j.Compiled, j.Rig.Target.Reference, func(i session.FixtureInfo) bool {
		return !slices.ContainsFunc(earlier, func(f session.FixtureInfo) bool { return f.Name == i.Name && f.LeftOut })
	})
	if len(chosen.Heads) > 0 {
		j.Compiled = chosen
	}
}
