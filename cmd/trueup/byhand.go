package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
)

func newByHandCommand() *cobra.Command {
	var only []string
	c := &cobra.Command{
		Use:   "byhand RIG",
		Short: "Match the lamps that a person sets: say what to dial, ask or read the meter",
		Long: `Match the lamps of a rig that the network can not reach (by_hand: true). The
program says which lamp to stand at and what to dial, in the lamp's own units,
and takes the reading from the rig's feed, or from you where the meter has no
data link (kind: hand). Nothing is sent to any lamp.

A value counts once you have seen how it was understood and pressed Enter; until
then, type it again. If the value before was wrong after all, answer undo: that
lamp is begun anew. Take your time: the program waits.

Keep all other lamps off the meter while you read one.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runByHand(c, args[0], only) },
	}
	c.Flags().StringSliceVar(&only, "only", nil, "names of the lamps to match (default: all that are set by hand)")
	return c
}

func runByHand(c *cobra.Command, path string, only []string) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	r, err := rig.Load(path)
	if err != nil {
		return shownErrors(c.ErrOrStderr(), err)
	}
	units, err := session.CompileByHand(r)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	if units, err = onlyThese(units, only); err != nil {
		return err
	}
	plan, err := planFor(r)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	plan.Verify = false
	t := newTerminal(c.InOrStdin(), c.OutOrStdout())
	base, err := feedBase(set, path, set.logger(c.ErrOrStderr()), t.ask)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	base.Undo = true
	if readByHand(r) {
		plan = patient(plan)
	}
	ctx, _, stop := stopSignals(context.Background())
	defer stop()
	meters, err := session.OpenMeters(ctx, r, base)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	defer meters.Close()
	res, err := byHandRun(ctx, c.OutOrStdout(), set.Out, r, units, plan, base, meters, t)
	if res != nil && res.summary != nil {
		printResult(c, res)
	}
	switch {
	case errors.Is(err, errStopped), errors.Is(err, feed.ErrEnded), errors.Is(err, io.EOF):
		return &exitError{exitStopped, err}
	case err != nil:
		return &exitError{exitNotAll, err}
	}
	for _, f := range res.summary.Fixtures {
		if o := f.Final(); f.ByHand && (o == nil || o.Result != "landed") {
			return &exitError{exitNotAll, nil}
		}
	}
	return nil
}

// readByHand reports whether a person reads a meter of the rig.
func readByHand(r *rig.Rig) bool {
	for _, f := range r.Feeds {
		if f.Kind == "hand" {
			return true
		}
	}
	return false
}

// patient is a plan for a person who reads the meter: they may go for lunch, and
// two readings of the reference are enough to notice a slip; ten would tire.
func patient(p session.Plan) session.Plan {
	p.ReadTimeout, p.ReferenceReadings = 24*time.Hour, 2
	return p
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
			return nil, usageError("--only %s: no lamp of that name is set by hand", name)
		}
	}
	return kept, nil
}

// byHandRun works through the lamps and writes the run up, however it ends.
func byHandRun(ctx context.Context, out io.Writer, root string, r *rig.Rig, units []*session.Unit, plan session.Plan, base feed.Config, meters session.Meters, t *terminal) (*result, error) {
	dir, err := session.MakeOutDir(root, r.Name, time.Now())
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dir, "journal.jsonl")
	journal, err := session.CreateJournal(path, time.Now, func(e session.Entry) { sayByHand(out, e) })
	if err != nil {
		return nil, err
	}
	info, err := (&job{rig: r, compiled: &session.Compiled{Units: units}, work: "match", plan: plan, feeds: base}).info()
	if err == nil {
		info.Mode = "by hand"
		err = journal.Append(session.Entry{Kind: session.KindRun, Run: info})
	}
	if err == nil {
		wire := session.NewHandWire(units, t.dial)
		var s *session.Session
		if s, err = session.New(units, wire, meters, journal, plan); err == nil {
			err = s.MatchByHand(ctx)
		}
	}
	closeErr := journal.Close()
	res, writeErr := writeUp(dir, path)
	return res, errors.Join(err, closeErr, writeErr)
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
	b.WriteString("  Enter when it is set (undo if the last value was wrong): ")
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
		}
		b.Reset()
		b.WriteString("  Enter when it is set, or undo: ")
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

// sayByHand tells what came of a value.
func sayByHand(out io.Writer, e session.Entry) {
	switch e.Kind {
	case session.KindReference:
		fmt.Fprintf(out, "reference: %s\n", e.Note)
	case session.KindAccount:
		fmt.Fprintf(out, "  %s\n", e.Account.Words)
	case session.KindOutcome:
		fmt.Fprintf(out, "%s: %s, %.4f off after %s\n", e.Fixture, e.Outcome.Result, e.Outcome.FinalDelta, readingsOf(e.Outcome.Readings))
	case session.KindUndo, session.KindStop:
		fmt.Fprintf(out, "%s\n", e.Note)
	}
}
