package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
)

// runFlags are those of every command that drives a rig.
type runFlags struct {
	live, rehearse, yes, forget bool
	warmUp                      time.Duration
}

func (f *runFlags) add(c *cobra.Command) {
	c.Flags().BoolVar(&f.live, "live", false, "really move light; without it the run only rehearses")
	c.Flags().BoolVar(&f.rehearse, "rehearse", false, "rehearse on the network too: levels go out marked as preview, so that nothing on stage moves")
	c.Flags().DurationVar(&f.warmUp, "warm-up", 0, "light all fixtures for so long before the first is read, such as 2m")
	c.Flags().BoolVar(&f.forget, "forget", false, "start from the profiles alone, not from what earlier runs learnt of them")
	c.Flags().BoolVar(&f.yes, "yes", false, "do not ask before light moves: people are warned and the stage is clear")
}

func newMatchCommand() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "match RIG",
		Short: "Bring every fixture of a rig to its reference, with proof",
		Long: `Reads the background and the reference, brings one fixture after another to the reference, reads each again at the end,
and writes journal, settings sheet and report into a folder of the run's own.

Without --live it only rehearses: it shows what would be driven and sends nothing.
Ctrl-C ramps gently to what the desk shows (or to the look at the start) and ends; a second Ctrl-C leaves the levels as they are.

Exit code 0: all fixtures landed; 1: something did not; 2: wrong use; 3: stopped by a person or a signal.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runCommand(c, args[0], "match", f, "") },
	}
	f.add(c)
	return c
}

func newSurveyCommand() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "survey RIG",
		Short: "Read every fixture as found, set as its profile says",
		Args:  oneRig,
		RunE:  func(c *cobra.Command, args []string) error { return runCommand(c, args[0], "survey", f, "") },
	}
	f.add(c)
	return c
}

func newVerifyCommand() *cobra.Command {
	var f runFlags
	var previous string
	c := &cobra.Command{
		Use:   "verify RIG",
		Short: "Read a matched rig again: does it still stand?",
		Long: `Sets every fixture to the settings of an earlier run, reads the reference and each fixture afresh, and says which have
drifted. Nothing is trimmed; run match for that.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runCommand(c, args[0], "verify", f, previous) },
	}
	f.add(c)
	c.Flags().StringVar(&previous, "run", "", "folder of the earlier run (default: the newest one of this rig)")
	return c
}

// oneRig wants one file name.
func oneRig(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usageError("%s wants one rig file (see '%s --help')", c.Name(), c.CommandPath())
	}
	return nil
}

func runCommand(c *cobra.Command, path, work string, f runFlags, previous string) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	j, err := newJob(r, work, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	if f.live && f.rehearse {
		return usageError("--live and --rehearse do not go together: one moves light, the other must not")
	}
	if f.warmUp < 0 || f.warmUp > maxWarmUp {
		return usageError("--warm-up %v: want 0 to %v", f.warmUp, maxWarmUp)
	}
	j.plan.WarmUp = f.warmUp
	j.live, j.preview, j.yes = f.live, f.rehearse, f.yes
	j.stdin, j.stdout, j.stderr = c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr()
	if work == "verify" && f.live {
		if j.previous, err = previousRun(set.Out, r.Name, previous); err != nil {
			return err
		}
	}
	dir, err := configDir()
	if err != nil {
		return err
	}
	if !f.forget {
		j.plan.Batches = loadLearnt(dir, j.compiled.Units, j.log)
	}
	res, err := j.run(context.Background())
	if serr := saveLearnt(dir, j.plan.Batches); serr != nil {
		err = errors.Join(err, serr)
	}
	if res != nil && res.summary != nil {
		printResult(c, res)
	}
	if errors.Is(err, session.ErrStopped) || errors.Is(err, errStopped) {
		return &exitError{exitStopped, err}
	}
	if err != nil {
		return err
	}
	if res.summary != nil && work != "survey" && !allLanded(res.summary) {
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// maxWarmUp bounds a warm-up: longer at the working level is work for a person
// nearby.
const maxWarmUp = time.Hour

// newJob compiles a rig for a run.
func newJob(r *rig.Rig, work string, set *settings, log zerolog.Logger) (*job, error) {
	plan, err := planFor(r)
	if err != nil {
		return nil, err
	}
	compiled, err := session.Compile(r)
	if err != nil {
		return nil, err
	}
	dir, err := configDir()
	if err != nil {
		return nil, err
	}
	cid, err := installationCID(dir)
	if err != nil {
		return nil, fmt.Errorf("identity of this installation: %w", err)
	}
	if set.Interface != "" && len(r.Output.Interfaces) == 0 {
		r.Output.Interfaces = []string{set.Interface}
	}
	base, err := feedBase(set, r.Path, log, nil)
	if err != nil {
		return nil, err
	}
	return &job{rig: r, compiled: compiled, work: work, plan: plan, outRoot: set.Out, cid: cid, log: log, feeds: base}, nil
}

func allLanded(s *session.Summary) bool {
	for _, f := range s.Fixtures {
		if f.Fixed || f.ByHand || (s.Reference != nil && f.Name == s.Reference.Name) {
			continue
		}
		if o := f.Final(); o == nil || o.Result != "landed" {
			return false
		}
	}
	return true
}

// printResult shows the end of a run as a table.
func printResult(c *cobra.Command, res *result) {
	w := c.OutOrStdout()
	fmt.Fprintf(w, "\n%s\n", report.Lead(res.summary))
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "fixture\tas found\tnow\treadings\toutcome\tin words")
	for _, f := range res.summary.Fixtures {
		o := f.Final()
		if o == nil {
			switch {
			case f.Found != nil && res.summary.Reference != nil:
				fmt.Fprintf(tw, "%s\t%.4f\t\t%d\tread as found\t%s\n", f.Name, f.Found.Delta, len(f.Trace),
					colorcalc.Describe(res.summary.Reference.UV.XY(), f.Found.UV.XY()))
			case !f.Fixed:
				fmt.Fprintf(tw, "%s\t\t\t\tnot matched\t\n", f.Name)
			}
			continue
		}
		words := o.Words
		if o.Result != "landed" && o.Reason != "" {
			words = o.Reason
		}
		fmt.Fprintf(tw, "%s\t%.4f\t%.4f\t%d\t%s\t%s\n", f.Name, o.FoundDelta, o.FinalDelta, o.Readings, o.Result, words)
	}
	tw.Flush()
	for _, f := range res.summary.Fixtures {
		if o := f.Final(); o != nil && o.Advice != "" {
			fmt.Fprintf(w, "%s: %s\n", f.Name, o.Advice)
		}
	}
	fmt.Fprintf(w, "report, settings and journal: %s\n", res.dir)
}

// previousRun reads the summary of an earlier run: the named one, or the
// newest one of the rig.
func previousRun(root, rigName, dir string) (*session.Summary, error) {
	if dir == "" {
		found, err := session.NewestRun(root, rigName)
		if err != nil {
			return nil, err
		}
		dir = found
	}
	f, err := userfile.Open(filepath.Join(dir, "journal.jsonl"), userfile.Journal)
	if err != nil {
		return nil, fmt.Errorf("earlier run: %w", err)
	}
	defer f.Close()
	s, err := session.ReadSummary(f)
	if err != nil {
		return nil, fmt.Errorf("earlier run %s: %w", dir, err)
	}
	if !strings.EqualFold(s.Info.Rig, rigName) {
		return nil, fmt.Errorf("earlier run %s is of the rig %q, not of %q", dir, s.Info.Rig, rigName)
	}
	return s, nil
}
