package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/page"
	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles/printable"
)

func newKeepCommand() *cobra.Command {
	var run, stage string
	var yes bool
	var h choice
	c := &cobra.Command{
		Use:   "keep RIG",
		Short: "Put a matched look back and keep it true while fixtures warm up",
		Long: `For a stage where the probes can stay: puts the look of the newest complete match back, reads the lit look again and again, as often as its
drift asks, and trims fixtures that have drifted, by steps of about 0.0002 in u'v', a fifth of what is just seen side by side. It goes on
until you end it with Ctrl-C, and then fades gently to what the desk shows (or to the look at the start).

No fixture is put out for a reading, so each probe sees the mixture of all fixtures at it, and they are trimmed together: give a fixture
that matters a probe of its own. The background is read in the dark before the look is lit; in an overlay, and with people aloft, that of the match is
taken off instead. It is kept to the target as the match left it; a reference that moves is not followed, and one that is driven is lit and not trimmed.
No fixture is lit that the match had not set (in an overlay: that the desk has dark), none is trimmed to more than 2 % more light than the match left it
with, by what the match has learnt of it, and none is trimmed while the evidence is doubtful: readings that disagree, a level or a colour that jumps, trims that do not help.
What is doubtful is said, and trimming goes on by itself when the light is as before. A meter that falls silent ends nothing: the look stands,
other probes are read on, and the fixtures of this one are trimmed again when it reads again. The journal of a day takes about 2 MB for each probe.

Exit codes: 0 every fixture was kept true to the end; 1 some were not, or a fault; 2 wrong command line; 3 ended before the look stood.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return keep(c, args[0], run, stage, yes, h) },
	}
	h.add(c)
	c.Flags().StringVar(&run, "run", "", "folder of the match to keep (default: the newest complete one of this rig)")
	addStageFlag(c, &stage)
	c.Flags().BoolVar(&yes, "yes", false, "do not ask before light moves: people are warned and the stage is clear")
	return c
}

func keep(c *cobra.Command, path, dir, stage string, yes bool, h choice) error {
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	if session.ReadByHand(r) {
		return usageError("%s: keep reads all the time, and a person reads this rig's meter (kind: hand): it wants one that reads by itself", path)
	}
	if err := onStage(r, stage); err != nil {
		return err
	}
	j, err := newJob(r, core.Keep, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	if j.Compiled, err = h.of(r, j.Compiled); err != nil {
		return err
	}
	out := c.OutOrStdout()
	past, err := pastOf(set.Out, r.Name, dir)
	if err != nil {
		return err
	}
	if err := keepAsMatched(&j, past.sum); err != nil {
		return fmt.Errorf("%s: %w", past.dir, err)
	}
	if err := knowAsMatched(&j, past); err != nil {
		return err
	}
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	showPlan(out, j)
	fmt.Fprintf(out, "the look of %s is put back and kept: %s; it ends when you stop it\n", past.dir, printable.Count(len(j.Previous.Fixtures), "fixture"))
	for _, u := range j.Compiled.Units {
		if u.Head >= 0 && u.Headroom <= 1 {
			fmt.Fprintf(out, "note: the level of %s is its cap: see above how long it may stand there, and what comes then; match it lower to keep it longer\n", u.Info.Name)
		}
	}
	if err := confirm(c.InOrStdin(), out, yes); err != nil {
		return err
	}
	stands := false
	j.WriteUp = func(string, *session.Summary) error { return nil } // the journal tells it all
	j.Listen = func(e session.Entry) { stands = stands || e.Kind == core.KindLevel }
	res, err := runJob(c, sig, set, j)
	if res != nil && res.Summary != nil {
		fmt.Fprintln(out)
		for _, n := range res.Summary.Notes {
			fmt.Fprintln(out, n)
		}
		fmt.Fprintf(out, "journal: %s\n%s\n", res.Dir, page.StageNow(j, sig.left(), err))
		fmt.Fprintf(out, "to see the matched look: trueup recall %s%s\n", typed(past.dir), stageWords(r))
	}
	switch {
	case err != nil && !stopped(err):
		return err
	case !stands:
		return &exitError{exitStopped, err}
	case res == nil || res.Summary == nil || !allKept(res.Summary, j.Previous):
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// knowAsMatched gives a job what a match had learnt of the lamps and, where the dark is not read,
// of the background.
func knowAsMatched(j *session.Job, past *pastRun) error {
	learnt, err := past.learnt()
	if err != nil {
		return err
	}
	j.Priors, j.Background = map[string]*solve.Prior{}, map[string]colorcalc.XYZ{}
	probes := map[string]string{}
	for _, u := range j.Compiled.Units {
		probes[u.Info.Name] = u.Info.Probe
	}
	for _, f := range j.Previous.Fixtures {
		if p := learnt.PriorOf(f.Name); p != nil {
			j.Priors[f.Name] = p
		}
		if mean, ok := learnt.BackgroundAt(f.Probe); ok && j.Plan.KeepLit && f.Probe == probes[f.Name] {
			j.Background[f.Probe] = mean
		}
	}
	return nil
}

// keepAsMatched has a job keep what an earlier run left of the lamps that are still what they were.
func keepAsMatched(j *session.Job, s *session.Summary) (err error) {
	if s.Reference == nil || s.Reference.UV == (colorcalc.UV{}) {
		return fmt.Errorf("that run ended before it had read its reference: match the rig again")
	}
	j.Plan.Target = core.Target{Text: s.Info.Target + " as it was matched", UV: s.Reference.UV}
	j.Plan.KeepLit = j.Plan.KeepLit || j.Rig.Output.Mode == rig.Overlay // the desk's look is lit, and stays so
	left := map[string]bool{}
	for _, u := range j.Compiled.Units {
		left[u.Info.Name] = u.Info.LeftOut
	}
	look := *s
	look.Fixtures = slices.DeleteFunc(slices.Clone(s.Fixtures), func(f session.FixtureSummary) bool { return left[f.Name] })
	if j.Previous, err = lookOf(&look, j.Compiled); err != nil {
		return err
	}
	withReference(j, &look)
	j.Compiled = session.Choose(j.Compiled, "", func(i session.FixtureInfo) bool {
		return slices.ContainsFunc(j.Previous.Fixtures, func(f session.FixtureSummary) bool { return f.Name == i.Name })
	})
	return nil
}

// allKept tells whether every lamp that had landed was kept so. Of lamps that share a probe the run says only which
// could not be kept.
func allKept(s, was *session.Summary) bool {
	for _, f := range was.Fixtures {
		if !f.Final().Landed() {
			continue
		}
		i := slices.IndexFunc(s.Fixtures, func(g session.FixtureSummary) bool { return g.Name == f.Name })
		if i < 0 || s.Fixtures[i].Final() != nil && !s.Fixtures[i].Final().Landed() {
			return false
		}
	}
	return true
}
