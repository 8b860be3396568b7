package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

func newByHandCommand() *cobra.Command {
	var only []string
	c := &cobra.Command{
		Use:   "byhand RIG",
		Short: "Match the fixtures that a person sets: say what to dial, ask or read the meter",
		Long: `Match the fixtures of a rig that the network can not reach (by_hand: true). The
program says which fixture to stand at and what to dial, in the fixture's own units,
and takes the reading from the rig's feed, or from you where the meter has no
data link (kind: hand). Nothing is sent to any fixture.

A value counts once you have seen how it was understood and pressed Enter; until
then, type it again. If the value before was wrong after all, answer undo: that
fixture is begun anew. Take your time: the program waits, and what you stop 'trueup resume' goes on with.
skip leaves the fixture that is to be set or read; none says that the meter has no figures for the colour of its light.

Exit codes: 0 all landed; 1 something did not; 2 wrong command line; 3 stopped by a person or a signal.

Keep all other fixtures off the meter while you read one.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runByHand(c, args[0], only) },
	}
	c.Flags().StringSliceVar(&only, "only", nil, "names of the fixtures to match (default: all that are set by hand)")
	return c
}

func runByHand(c *cobra.Command, path string, only []string) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	return byHand(c, set, path, only, session.Open)
}

// resumeByHand goes on with a run by hand, with the lamps that it had.
func resumeByHand(c *cobra.Command, set *settings, path string, e *session.Earlier) error {
	var only []string
	for _, f := range e.Info.Fixtures {
		if f.ByHand {
			only = append(only, f.Name)
		}
	}
	return byHand(c, set, path, only, func(ctx context.Context, j session.Job) (*session.Run, error) {
		otherwise, err := e.AsBegun(&j)
		if err != nil {
			return nil, err
		}
		if otherwise != "" {
			fmt.Fprintf(c.OutOrStdout(), "note: %s\n", otherwise)
		}
		return session.Resume(ctx, j, e)
	})
}

// byHand matches lamps with a person as the wire, in a run that open arms.
func byHand(c *cobra.Command, set *settings, path string, only []string, open func(context.Context, session.Job) (*session.Run, error)) error {
	r, err := rig.Load(path)
	if err != nil {
		return shownErrors(c.ErrOrStderr(), err)
	}
	log := set.logger(c.ErrOrStderr())
	j, err := byHandJob(r, set, only, log)
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	t := newTerminal(c.InOrStdin(), out)
	j.Feeds.Ask, j.Dial = t.ask, t.dial
	j.Listen = sayByHand(out)
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	run, err := open(sig.ctx, j)
	if err != nil {
		if stopped(err) {
			return &exitError{exitStopped, err}
		}
		return &exitError{exitNotAll, err}
	}
	sig.armed(run)
	res, err := run.Work(sig.ctx)
	if res.Summary != nil {
		printResult(out, res)
		if !res.Summary.Complete {
			fmt.Fprintf(out, "to go on where it broke off: trueup resume %s\n", typed(res.Dir))
		}
	}
	switch {
	case stopped(err):
		return &exitError{exitStopped, err}
	case err != nil:
		return &exitError{exitNotAll, err}
	}
	for _, f := range res.Summary.Fixtures {
		if f.ByHand && !f.Final().Landed() {
			return &exitError{exitNotAll, nil}
		}
	}
	return nil
}

// byHandJob is a job for the lamps that a person sets, all or some by name. Who is asked, and by whom lamps are
// dialled, is for the caller to say.
func byHandJob(r *rig.Rig, set *settings, only []string, log zerolog.Logger) (session.Job, error) {
	j := session.Job{Program: "trueup " + version(), Rig: r, Work: core.ByHand, OutRoot: set.Out, Log: log, WriteUp: writeUp}
	units, err := session.CompileByHand(r)
	if err != nil {
		return j, &exitError{exitNotAll, err}
	}
	if units, err = onlyThese(units, only); err != nil {
		return j, err
	}
	j.Compiled = &session.Compiled{Units: units}
	if j.Plan, err = session.PlanFor(r); err != nil {
		return j, &exitError{exitNotAll, err}
	}
	if j.Plan.Target, err = commonByHand(set, r, j.Plan.Target); err != nil {
		return j, err
	}
	j.Plan.SecondVisit = false
	if j.Feeds, err = feedBase(set, r.Path, log, nil); err != nil {
		return j, &exitError{exitNotAll, err}
	}
	j.Feeds.Undo, j.Feeds.Skip = true, true
	return j, nil
}

func onlyThese(units []*session.Unit, only []string) ([]*session.Unit, error) {
	if len(only) == 0 {
		return units, nil
	}
	var kept []*session.Unit
	for _, u := range units {
		wanted := u.Head < 0 // the reference
		for _, name := range only {
			wanted = wanted || name == u.Info.Name
		}
		if wanted {
			kept = append(kept, u)
		}
	}
	for _, name := range only {
		found := false
		for _, u := range kept {
			found = found || u.Info.Name == name && u.Head >= 0
		}
		if !found {
			return nil, usageError("--only %s: no fixture of that name is set by hand", name)
		}
	}
	return kept, nil
}

// dial tells a person what to set, and waits until they have.
func (t *terminal) dial(ctx context.Context, h session.HandStep) error {
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s: set\n", h.Lamp)
	touched := false
	for i, s := range h.Set {
		if h.Was == nil {
			fmt.Fprintf(&b, "    %s %s\n", s.Name, dialed(s))
			touched = true
		} else if h.Was[i].Value != s.Value {
			fmt.Fprintf(&b, "    %s %s -> %s\n", s.Name, dialed(h.Was[i]), dialed(s))
			touched = true
		}
	}
	if !touched {
		return nil
	}
	b.WriteString("  Enter when it is set (skip leaves it; undo if the last value was wrong): ")
	for {
		line, err := t.line(ctx, "%s", b.String())
		if err != nil {
			return err
		}
		switch strings.TrimSpace(line) {
		case "":
			return nil
		case "undo", "u":
			return feed.ErrUndo
		case "skip", "s":
			return session.ErrSkip
		}
		b.Reset()
		b.WriteString("  set the fixture first; what the meter shows is asked for after that\n  Enter when it is set, skip or undo: ")
	}
}

// dialed is a knob's value as it shows it.
func dialed(s session.Setting) string {
	v := strconv.FormatFloat(s.Value, 'f', -1, 64)
	if s.Unit != "" {
		v += " " + s.Unit
	}
	return v
}

// sayByHand tells what came of a value, entry by entry.
func sayByHand(out io.Writer) func(session.Entry) {
	taken := map[string]*session.Readings{}
	return func(e session.Entry) {
		r := taken[e.Fixture]
		if r == nil {
			r = &session.Readings{}
			taken[e.Fixture] = r
		}
		r.Take(&e)
		switch e.Kind {
		case core.KindReference:
			fmt.Fprintf(out, "reference: %s\n", e.Note)
		case core.KindAccount:
			fmt.Fprintf(out, "  %s\n", e.Account.Words)
		case core.KindOutcome:
			o := e.Outcome
			if o.Final == nil {
				fmt.Fprintf(out, "%s: %s, never read\n", e.Fixture, o.Result)
				return
			}
			fmt.Fprintf(out, "%s: %s, %.4f off after %s\n", e.Fixture, o.Result, o.Final.Delta, r.Words())
		case core.KindAside:
			fmt.Fprintf(out, "  %s\n", e.Note)
		case core.KindUndo, core.KindStop, core.KindResume:
			fmt.Fprintf(out, "%s\n", e.Note)
		}
	}
}
