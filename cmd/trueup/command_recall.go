package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/page"
	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

func newRecallCommand() *cobra.Command {
	var rigFile, stage string
	var yes bool
	c := &cobra.Command{
		Use:   "recall RUN",
		Short: "Put the look of an earlier run back, and hold it",
		Long: `Sets every fixture to what the run in the folder RUN (a path, or its name in the folder of all runs) left it at, all at once, within the rig's
limits of speed and level, and holds the look until you end it. Nothing is read and nothing is judged: 'trueup verify' does that. Fixtures of the run that
were held, and those set by hand, are not set.

It moves light: it shows what will be driven and asks. Ctrl-C fades gently to what the desk shows (or to the look at the start) and ends; a second
Ctrl-C leaves the levels as they are. What was sent is kept in a journal of its own.

Exit codes: 0 the look stood until it was ended; 1 something could not be set; 2 wrong command line; 3 ended before it stood.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError("recall wants the folder of one run (see 'trueup recall --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return recall(c, args[0], rigFile, stage, yes) },
	}
	c.Flags().StringVar(&rigFile, "rig", "", "the rig file, where it is not where it was when the run began")
	addStageFlag(c, &stage)
	c.Flags().BoolVar(&yes, "yes", false, "do not ask before light moves: people are warned and the stage is clear")
	return c
}

func recall(c *cobra.Command, name, rigFile, stage string, yes bool) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	dir, s, err := readLook(set.Out, name)
	if err != nil {
		return err
	}
	path, err := rigFileOf(rigFile, session.RigPath(dir, &s.Info), s.Info.RigFile)
	if err != nil {
		return err
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	if err := onStage(r, stage); err != nil {
		return err
	}
	j, err := newJob(r, core.Recall, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	if err := putBack(&j, s, dir); err != nil {
		return err
	}
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	showPlan(out, j)
	for _, f := range s.Fixtures {
		if o := f.Final(); o != nil && o.Result == solve.Predicted {
			fmt.Fprintf(out, "note: %s is left out: %s\n", f.Name, report.CutShort)
		} else if o != nil && !o.Landed() {
			fmt.Fprintf(out, "note: %s had not landed (%s)\n", f.Name, o.Result)
		}
	}
	if err := confirm(c.InOrStdin(), out, yes); err != nil {
		return err
	}
	stands, held := false, 0
	j.Listen = func(e session.Entry) {
		stands = stands || e.Kind == core.KindLevel
		if e.Kind == core.KindOutcome {
			held++
		}
	}
	_, res, err := armedRun(c, sig, set, j, func(j session.Job) (*session.Run, error) { return session.Open(sig.ctx, j) })
	if res != nil {
		fmt.Fprintf(out, "journal: %s\n%s\n", res.Dir, page.StageNow(j, sig.left(), err))
	}
	switch {
	case stopped(err) && !stands:
		return &exitError{exitStopped, err}
	case err != nil && !stopped(err):
		return err
	case held > 0:
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// putBack makes a job one that puts the look of the run in dir back.
func putBack(j *session.Job, s *session.Summary, dir string) (err error) {
	if j.Previous, err = lookOf(s, j.Compiled); err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	withReference(j, s)
	j.Compiled = session.Choose(j.Compiled, "", func(i session.FixtureInfo) bool {
		return slices.ContainsFunc(j.Previous.Fixtures, func(f session.FixtureSummary) bool { return f.Name == i.Name })
	})
	return nil
}

// lookOf is what an earlier run left on the lamps that are still what they were.
func lookOf(s *session.Summary, c *session.Compiled) (*session.Summary, error) {
	look := *s
	look.Fixtures = nil
	predicted := 0
	for _, f := range s.Fixtures {
		if o := f.Final(); o != nil && o.Result == solve.Predicted {
			predicted++
		}
		if !wasRead(&f) {
			continue
		}
		if err := sameLamp(&f, c); err != nil {
			return nil, err
		}
		look.Fixtures = append(look.Fixtures, f)
	}
	if len(look.Fixtures) == 0 && predicted > 0 {
		return nil, fmt.Errorf("this run was cut short before it read a fixture where the match had set it: trueup resume goes on with it")
	}
	if len(look.Fixtures) == 0 {
		return nil, fmt.Errorf("this run left no setting to put back: it matched no fixture over the network")
	}
	return &look, nil
}

// wasRead tells whether a run has left a fixture at a setting, over the network, and read it there.
func wasRead(f *session.FixtureSummary) bool {
	o := f.Final()
	return o != nil && o.After != nil && o.Final != nil && o.Result != solve.Held && !f.ByHand
}

// withReference has a job light the reference as well, where it is driven: the others were matched to its light.
func withReference(j *session.Job, s *session.Summary) {
	for _, f := range s.Fixtures {
		if f.Lit != nil && s.IsReference(f) && sameLamp(&f, j.Compiled) == nil {
			f.Verify = &session.Outcome{Result: solve.Landed, After: f.Lit, Final: &session.Stand{UV: s.Reference.UV, Lux: s.Reference.Lux}}
			j.Previous.Fixtures = append(j.Previous.Fixtures, f)
		}
	}
}

// sameLamp tells why a fixture of an earlier run can not be set as it was: the rig has it no more, or another in its place.
func sameLamp(f *session.FixtureSummary, c *session.Compiled) error {
	i := slices.IndexFunc(c.Units, func(u *session.Unit) bool { return u.Info.Name == f.Name && u.Head >= 0 })
	if i < 0 {
		return fmt.Errorf("the rig has no fixture %q any more", f.Name)
	}
	now := c.Units[i].Info
	if now.Mode != f.Mode || now.Profile != f.Profile || !slices.Equal(now.Parameters, f.Parameters) {
		return fmt.Errorf("fixture %q is another now: it was %s, mode %s (%s)", f.Name, f.Profile, f.Mode, strings.Join(f.Parameters, ", "))
	}
	return nil
}
