package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// runFlags are those of every command that drives a rig.
type runFlags struct {
	live, rehearse, yes, forget, json bool
	page                              bool // show the run on the page too
	asFound                           bool // match: every fixture is read as found
	warmUp, watch                     time.Duration
	stage                             string // the simulated stage to run on; "" = as the rig says
	against                           string // survey: what each lamp is set beside
	bestCommon                        bool
	choice                            choice
}

func (f *runFlags) add(c *cobra.Command) {
	c.Flags().BoolVar(&f.live, "live", false, "really move light; without it the run only rehearses")
	c.Flags().BoolVar(&f.rehearse, "rehearse", false, "rehearse on the network too: levels go out marked as preview, so that nothing on stage moves")
	c.Flags().DurationVar(&f.warmUp, "warm-up", 0, "light all fixtures for so long before the first is read, such as 2m")
	addStageFlag(c, &f.stage)
	c.Flags().BoolVar(&f.forget, "forget", false, "start from the profiles alone, not from what earlier runs learnt of them")
	c.Flags().BoolVar(&f.json, "json", false, "with --live: write what came of it as JSON to standard output, and everything else to standard error")
	c.Flags().BoolVar(&f.page, "page", false, "with --live: show the run on the page too (page_address in the settings), where it can be held, skipped on and stopped")
	c.Flags().BoolVar(&f.yes, "yes", false, "do not ask before light moves: people are warned and the stage is clear")
}

func newMatchCommand() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "match RIG",
		Short: "Bring every fixture of a rig to its reference, with proof",
		Long: `Reads the background and the reference, brings one fixture after another to the reference, reads each again at the end,
and writes journal, settings sheet and report into a folder of the run's own.

Without --live it only rehearses, in virtual time: it shows what would be driven and how long the run will take, and sends nothing.
Ctrl-C ramps gently to what the desk shows (or to the look at the start) and ends; a second Ctrl-C leaves the levels as they are.
Ctrl-Z holds the run as it stands, and lets it go on again. skip and Enter leaves the fixture that is worked at.
A meter that falls silent pauses the run: the fixtures stay as they are, and it goes on when the meter reads again; after half an hour it ends.
What a crash, a power cut or Ctrl-C broke off, trueup resume goes on with.

Once three fixtures of a type have been matched, the next are matched at once where they are known to begin better than as found; how they stood
is computed then, and says so. --as-found reads all of them, as survey does.

--only, --skip and --group choose fixtures. All others are left to themselves: nothing is sent to them, and the light they give counts as background.

Exit codes: 0 all fixtures landed; 1 something did not; 2 wrong command line; 3 stopped by a person or a signal.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runCommand(c, args[0], core.Match, f, "") },
	}
	f.add(c)
	f.choice.add(c)
	c.Flags().DurationVar(&f.watch, "watch", 0, "read the first fixtures of each type again so long after they are lit, such as 8s, to find those that change their colour by themselves; not given: 8s for the first of each type where that takes less than a twelfth of the run; 0s: none but those that an earlier run found to do so")
	c.Flags().BoolVar(&f.asFound, "as-found", false, "read every fixture as found, also where fixtures of its type have been matched before")
	c.Flags().BoolVar(&f.bestCommon, "best-common", false, "match to the colour nearest to the target that all fixtures reach (see trueup common)")
	return c
}

// oneRig wants one file name.
func oneRig(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usageError("%s wants one rig file (see '%s --help')", c.Name(), c.CommandPath())
	}
	return nil
}

func runCommand(c *cobra.Command, path string, work session.Work, f runFlags, previous string) error {
	result := c.OutOrStdout()
	if f.json {
		if !f.live {
			return usageError("--json tells what was measured: it needs --live")
		}
		c.SetOut(c.ErrOrStderr())
	}
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	if err := onStage(r, f.stage); err != nil {
		return err
	}
	j, err := newJob(r, work, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	if err := f.check(); err != nil {
		return err
	}
	j.Plan.WarmUp, j.Plan.Watch, j.Plan.AsFound = f.warmUp, f.watch, f.asFound
	if f.watch == 0 && c.Flags().Changed("watch") {
		j.Plan.WatchShare = 0
	}
	if j.Compiled, err = f.choice.of(r, j.Compiled); err != nil {
		return err
	}
	if work == core.Verify {
		if err := verifies(&j, set, r, previous); err != nil {
			return err
		}
	}
	dir, err := configDir()
	if err != nil {
		return err
	}
	if !f.forget {
		loadLearnt(dir, r.Name, j.Compiled.Units, time.Now(), j.Log).give(&j)
	}
	r.Target.BestCommon = r.Target.BestCommon || f.bestCommon
	if k, err := aimAtBestCommon(set, &j); err != nil {
		return err
	} else if k != nil {
		k.show(c.OutOrStdout())
	}
	sig := catchSignals(context.Background(), c.OutOrStdout())
	defer sig.stop()
	showPlan(c.OutOrStdout(), j, beyondReach(set, j))
	if !f.live {
		if err := rehearseInTime(c.OutOrStdout(), dir, j); err != nil || !f.rehearse {
			return err
		}
		return onNetwork(sig, c.OutOrStdout(), j)
	}
	var pacing session.Pacing
	j.Listen = func(e session.Entry) { pacing.Take(&e) }
	if err := confirm(c.InOrStdin(), c.OutOrStdout(), f.yes); err != nil {
		return err
	}
	res, err := runShown(c, sig, set, j, f.page)
	savePaces(dir, j.Rig, j.Compiled.Units, &pacing)
	found := &learnt{batches: j.Learnt}
	if res != nil {
		found.times = timesToKeep(r, res.Times)
	}
	if serr := saveLearnt(dir, r.Name, found, j.Compiled.Units, time.Now(), j.Log); serr != nil {
		err = errors.Join(err, serr)
	}
	return endOfRun(c.OutOrStdout(), sig, j, res, err, func() error { return f.show(result, res, r) })
}

// check tells what does not go together, or is out of bounds.
func (f *runFlags) check() error {
	switch {
	case f.live && f.rehearse:
		return usageError("--live and --rehearse do not go together: one moves light, the other must not")
	case f.page && !f.live:
		return usageError("--page shows what is done: it needs --live")
	case f.warmUp < 0 || f.warmUp > maxWarmUp:
		return usageError("--warm-up %v: want 0s to %.0fm", f.warmUp, maxWarmUp.Minutes())
	case f.watch != 0 && (f.watch < time.Second || f.watch > core.MostWatch):
		return usageError("--watch %v: want 1s to %.0fm, or 0s to watch none but those that an earlier run found to change", f.watch, core.MostWatch.Minutes())
	}
	return nil
}

// show tells what came of a run, for people or for a program.
func (f *runFlags) show(w io.Writer, res *session.Result, r *rig.Rig) error {
	var against *report.Comparison
	if f.against != "" {
		c, err := compareAgainst(r, res.Summary, f.against)
		if err != nil {
			return err
		}
		against = &c
	}
	if f.json {
		return report.WriteRunJSON(w, res.Dir, res.Summary, against)
	}
	printResult(w, res)
	if against != nil {
		report.WriteComparison(w, *against)
	}
	return nil
}

// runShown is runJob, and shows the run on the page as well where that was asked for.
func runShown(c *cobra.Command, sig *signals, set *settings, j session.Job, onPage bool) (*session.Result, error) {
	if !onPage {
		return runJob(c, sig, set, j)
	}
	open, over, err := pageBeside(c.OutOrStdout(), sig, set, &j, func(j session.Job) (*session.Run, error) { return session.Open(sig.ctx, j) })
	if err != nil {
		return nil, err
	}
	_, res, err := armedRun(c, sig, set, j, open)
	over(res, err)
	return res, err
}

// runJob arms a run over the network, shows it while it works, and stops it on a signal.
func runJob(c *cobra.Command, sig *signals, set *settings, j session.Job) (*session.Result, error) {
	_, res, err := armedRun(c, sig, set, j, func(j session.Job) (*session.Run, error) { return session.Open(sig.ctx, j) })
	return res, err
}

// maxWarmUp bounds a warm-up: longer at the working level is work for a person
// nearby.
const maxWarmUp = time.Hour

// newJob compiles a rig for a run.
func newJob(r *rig.Rig, work session.Work, set *settings, log zerolog.Logger) (session.Job, error) {
	j, err := compileJob(session.Job{Program: "trueup " + version(), Rig: r, Work: work, OutRoot: set.Out, Log: log, Learnt: map[string]*solve.Batch{}})
	if err != nil {
		return j, err
	}
	if err := drives(r, j.Compiled); err != nil {
		return j, err
	}
	if work == core.Match || work == core.Survey || work == core.Verify {
		if err := isMatched(r, j.Compiled); err != nil {
			return j, err
		}
	}
	if err := session.EachItsProbe(r); err != nil {
		return j, err
	}
	dir, err := configDir()
	if err != nil {
		return j, err
	}
	if j.CID, err = installationCID(dir); err != nil {
		return j, fmt.Errorf("identity of this installation: %w", err)
	}
	set.applyTo(&r.Output)
	j.Feeds, err = feedBase(set, r.Path, log, nil)
	return j, err
}

// allLanded tells whether every lamp has landed, or stands where it had.
func allLanded(s *session.Summary) bool {
	for _, f := range s.Fixtures {
		if f.Fixed || f.ByHand || f.LeftOut || s.IsReference(f) {
			continue
		}
		if o := f.Final(); !o.Landed() && !o.Stays() {
			return false
		}
	}
	return true
}

// printResult shows the end of a run as a table.
func printResult(w io.Writer, res *session.Result) {
	fmt.Fprintf(w, "\n%s\n", report.Lead(res.Summary))
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "fixture\tas found\tnow\treadings\toutcome\tin words")
	for _, f := range res.Summary.Fixtures {
		o := f.Final()
		if o == nil {
			switch {
			case f.Found != nil && res.Summary.Reference != nil:
				fmt.Fprintf(tw, "%s\t%.4f\t\t%s\tread as found\t%s\n", f.Name, f.Found.Delta, f.Readings,
					colorcalc.Describe(res.Summary.Reference.UV.XY(), f.Found.UV.XY()))
			case f.LeftOut:
				fmt.Fprintf(tw, "%s\t\t\t\tleft out\t\n", f.Name)
			case !f.Fixed && !res.Summary.IsReference(f):
				fmt.Fprintf(tw, "%s\t\t\t\tnot matched\t\n", f.Name)
			}
			continue
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%s\n", f.Name, foundOf(o), deltaOf(o.Final), f.Readings, o.Result, wordsOf(o))
	}
	tw.Flush()
	if words := report.UnreadAsFound(res.Summary); words != "" {
		fmt.Fprintln(w, words)
	}
	report.WriteSpread(w, res.Summary)
	for _, f := range res.Summary.Fixtures {
		if o := f.Final(); o != nil && o.Advice != "" {
			fmt.Fprintf(w, "%s: %s\n", f.Name, o.Advice)
		}
	}
	for _, l := range report.FilterAdvice(res.Summary) {
		fmt.Fprintln(w, l)
	}
	if res.Summary.Unwatched != "" {
		fmt.Fprintln(w, res.Summary.Unwatched)
	}
	files := "report, settings and journal"
	if res.WriteUp != nil { // the error says which of the others is missing
		files = "journal"
	}
	fmt.Fprintf(w, "%s: %s\n", files, res.Dir)
}

// foundOf is how far a fixture was from the target as found, or why that is not known.
func foundOf(o *session.Outcome) string {
	figure, words := report.FoundText(o)
	return strings.TrimSpace(figure + " " + words)
}

// deltaOf is a measured distance from the target; empty where nothing was measured.
func deltaOf(s *session.Stand) string {
	if s == nil {
		return ""
	}
	return fmt.Sprintf("%.4f", s.Delta)
}

// wordsOf is an outcome in words: how it stands, or why it did not land.
func wordsOf(o *session.Outcome) string {
	if !o.Landed() && o.Reason != "" {
		return o.Reason
	}
	return o.Words
}
