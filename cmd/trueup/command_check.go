package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"slices"
	"sync"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
	"trueup/safety"
)

func newCheckCommand() *cobra.Command {
	var noFeed, asJSON bool
	var stage string
	c := &cobra.Command{
		Use:   "check RIG",
		Short: "Check a rig, its profiles, its feeds, its network and its ways out; no level is sent",
		Long: `Reads the rig and all it names, shows the patch sheet, the limits and the settings in force with their origin, reads every
probe of every feed, tries the way to every receiver, and listens for who else sends on its universes, for as long as a run does
before it moves any light. Everything that is wrong is said in one go, as a run would say it.

No level is sent: the way to a receiver is tried with one empty datagram to its discard port.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return check(c, args[0], stage, !noFeed, asJSON) },
	}
	c.Flags().BoolVar(&noFeed, "no-feed", false, "do not listen to the feed: the meter is not here yet")
	c.Flags().StringVar(&stage, "stage", "", "check against a simulated stage, at the two addresses that trueup stage says, SACN,METER")
	c.Flags().BoolVar(&asJSON, "json", false, "write what was found as JSON to standard output, and the text to standard error")
	return c
}

func check(c *cobra.Command, path, stage string, listen, asJSON bool) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	w := c.OutOrStdout()
	if asJSON {
		w = c.ErrOrStderr()
	}
	ctx, end := signal.NotifyContext(c.Context(), endSignals()...)
	defer end()
	found, err := lookAtAll(ctx, w, set, path, stage, listen)
	if err != nil {
		return err
	}
	if ctx.Err() != nil { // what was not looked at to the end is no fault
		return &exitError{exitStopped, fmt.Errorf("%w before all was looked at", errStopped)}
	}
	if asJSON {
		if err := writeChecked(data(c), path, set, found); err != nil {
			return err
		}
	}
	if len(found.faults) > 0 {
		return errors.Join(found.faults...)
	}
	fmt.Fprintln(w, "no fault found")
	return nil
}

// looked is what a look at a rig has found.
type looked struct {
	rig    *rig.Rig // nil where it can not be read
	notes  []string // what to mind, and is no fault
	faults []error
}

// lookAtAll tells what there is to see of a rig, and all that is wrong. err is a stage that was named wrongly.
func lookAtAll(ctx context.Context, w io.Writer, set *settings, path, stage string, listen bool) (found looked, err error) {
	fail := func(err error) {
		if err != nil {
			found.faults = append(found.faults, err)
		}
	}
	note := func(words string) {
		if words != "" {
			found.notes = append(found.notes, words)
			fmt.Fprintf(w, "note: %s\n", words)
		}
	}
	r, err := rig.LoadPartial(path)
	found.rig = r
	fail(err)
	if r != nil {
		if err := onStage(r, stage); err != nil {
			return found, err
		}
	}
	if r != nil && err == nil {
		showPatch(w, r)
		j, unplanned := compileJob(session.Job{Rig: r, Work: core.Match, Log: set.logger(io.Discard)})
		if unplanned != nil {
			fail(unplanned)
		} else {
			fail(checkJob(j))
		}
		fail(session.EachItsProbe(r))
		words, err := unalignedProbes(r)
		if note(words); !listen { // else its feeds tell of corrections that can not be read
			fail(err)
		}
		showLimits(w, r)
		if j.Compiled != nil {
			note(j.Compiled.LitAtOnce(r))
		}
		if unplanned == nil {
			note(checkReach(set, j))
		}
	}
	fmt.Fprintln(w, "settings in force:")
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, s := range set.rows {
		fmt.Fprintf(tw, "  %s\t%s\t%s\n", s.Key, s.Value, s.Origin)
	}
	tw.Flush()
	if r != nil {
		set.applyTo(&r.Output)
		fail(checkOutside(ctx, w, r, set, listen))
	}
	fmt.Fprintf(w, "\n%s\n", safety.CautionsShort)
	return found, nil
}

func showPatch(w io.Writer, r *rig.Rig) {
	fmt.Fprintf(w, "%s: patch sheet\n", r.Name)
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "  fixture\tslots\tprofile\tmode\tparameters\tprobe\tlevel")
	for _, p := range rig.PatchSheet(r) {
		fmt.Fprintf(tw, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\n", p.Fixture, p.Slots, p.Profile, p.Mode, p.Params, printable.Text(p.Probe), p.Level)
	}
	tw.Flush()
}

// drives refuses a rig of which no run could drive anything.
func drives(r *rig.Rig, c *session.Compiled) error {
	if len(c.Heads) > 0 {
		return nil
	}
	return fmt.Errorf("%s: no fixture of the rig is driven over the network: give one a profile and an address, without fixed: or by_hand:", r.Path)
}

// isMatched refuses a rig whose reference is its only fixture to be matched.
func isMatched(r *rig.Rig, c *session.Compiled) error {
	if slices.ContainsFunc(c.Units, func(u *session.Unit) bool { return u.Head >= 0 && u.Info.Name != r.Target.Reference }) {
		return nil
	}
	return fmt.Errorf("%s: there is nothing to match but the reference %q: add a fixture to the rig, or name a colour as its target", r.Path, r.Target.Reference)
}

// compileJob compiles the rig of a job, and plans its run. Where it fails the job is as far as that came: without Compiled, or without a plan.
func compileJob(j session.Job) (session.Job, error) {
	var err error
	if j.Compiled, err = session.Compile(j.Rig); err != nil {
		return j, err
	}
	j.Plan, err = session.PlanFor(j.Rig)
	return j, err
}

// checkPlan does everything a run of a rig does before it opens a socket.
func checkPlan(r *rig.Rig) error {
	j, err := compileJob(session.Job{Rig: r})
	if err != nil {
		return err
	}
	return checkJob(j)
}

// checkJob is checkPlan of a job that is compiled.
func checkJob(j session.Job) error {
	r, compiled := j.Rig, j.Compiled
	if err := drives(r, compiled); err != nil {
		return err
	}
	if !slices.ContainsFunc(r.Fixtures, func(f rig.Fixture) bool { return f.ByHand }) { // else trueup byhand matches those
		if err := isMatched(r, compiled); err != nil {
			return err
		}
	}
	cfg := safety.Config{Limits: r.Safety.Limits, Heads: compiled.Heads, Start: compiled.Start}
	for _, l := range r.Safety.Locked {
		cfg.Locked = append(cfg.Locked, safety.SlotRange{Universe: l.Universe, First: l.First, Last: l.Last})
	}
	if _, err := safety.NewGovernor(cfg); err != nil {
		return fmt.Errorf("%s: %w", r.Path, err)
	}
	return nil
}

// checkReach says which fixtures a match is likely not to bring to its target.
func checkReach(set *settings, j session.Job) string {
	dir, err := configDir()
	if err != nil {
		return ""
	}
	loadLearnt(dir, j.Rig.Name, j.Compiled.Units, time.Now(), j.Log).give(&j)
	return beyondReach(set, j)
}

// checkOutside looks at what a run would meet: the ways out, who else sends,
// and the feeds. All at once, for each takes seconds; said in that order.
func checkOutside(ctx context.Context, w io.Writer, r *rig.Rig, set *settings, listen bool) error {
	if ctx == nil {
		ctx = context.Background()
	}
	looks := []func(io.Writer) error{
		func(w io.Writer) error { return checkWays(ctx, w, r) },
		func(w io.Writer) error { return checkSources(ctx, w, r) },
	}
	if listen {
		looks = append(looks, func(w io.Writer) error { return checkFeeds(ctx, w, r, set) })
	}
	texts, faults := make([]bytes.Buffer, len(looks)), make([]error, len(looks))
	var all sync.WaitGroup
	for i, look := range looks {
		all.Go(func() { faults[i] = look(&texts[i]) })
	}
	all.Wait()
	for i := range texts {
		texts[i].WriteTo(w)
	}
	return errors.Join(faults...)
}
