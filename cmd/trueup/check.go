package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/dmx/sacn"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/safety"
)

func newCheckCommand() *cobra.Command {
	var noFeed bool
	c := &cobra.Command{
		Use:   "check RIG",
		Short: "Check a rig, its profiles, its feed and its way out; nothing is sent",
		Long: `Reads the rig and all it names, shows the patch sheet, the limits and the settings in force with their origin, listens to every
feed for a few seconds, and looks at the way out. Everything that is wrong is said in one go. Nothing is sent.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return check(c, args[0], !noFeed) },
	}
	c.Flags().BoolVar(&noFeed, "no-feed", false, "do not listen to the feed: the meter is not here yet")
	return c
}

func check(c *cobra.Command, path string, listen bool) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	w := c.OutOrStdout()
	var faults []error
	fail := func(err error) {
		if err != nil {
			faults = append(faults, err)
		}
	}
	r, err := rig.LoadPartial(path)
	fail(err)
	if r != nil && err == nil {
		showPatch(w, r)
		fail(checkPlan(r))
		fmt.Fprintln(w, "limits in force:")
		for _, l := range r.Safety.Limits.Describe() {
			fmt.Fprintf(w, "  %s\n", l)
		}
	}
	fmt.Fprintln(w, "settings in force:")
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, s := range set.rows {
		fmt.Fprintf(tw, "  %s\t%s\t%s\n", s.Key, s.Value, s.Origin)
	}
	tw.Flush()
	if r != nil {
		for _, err := range checkOutput(r) {
			fail(err)
		}
		if listen {
			fail(checkFeeds(c.Context(), w, r, set))
		}
	}
	fmt.Fprintf(w, "\n%s\n", safety.CautionsShort)
	if len(faults) > 0 {
		return errors.Join(faults...)
	}
	fmt.Fprintln(w, "no fault found")
	return nil
}

func showPatch(w io.Writer, r *rig.Rig) {
	fmt.Fprintf(w, "%s: patch sheet\n", r.Name)
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "  fixture\tslots\tprofile\tmode\tparameters\tprobe\tlevel")
	for _, p := range rig.PatchSheet(r) {
		fmt.Fprintf(tw, "  %s\t%s\t%s\t%s\t%s\t%s\t%s\n", p.Fixture, p.Slots, p.Profile, p.Mode, p.Params, p.Probe, p.Level)
	}
	tw.Flush()
}

// checkPlan does everything a run does before it opens a socket.
func checkPlan(r *rig.Rig) error {
	compiled, err := session.Compile(r)
	if err != nil {
		return err
	}
	if _, err := session.PlanFor(r); err != nil {
		return err
	}
	if len(compiled.Heads) == 0 {
		return fmt.Errorf("%s: no fixture of the rig is driven over the network", r.Path)
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

// checkOutput looks at the way out without sending: interfaces, and
// for an overlay the port that the desk is heard on.
func checkOutput(r *rig.Rig) []error {
	var faults []error
	for _, name := range r.Output.Interfaces {
		if _, err := net.InterfaceByName(name); err != nil {
			faults = append(faults, fmt.Errorf("%s: output: this machine has no network interface %q: %s", r.Path, name, interfaceNames()))
		}
	}
	if r.Output.Mode == rig.Overlay {
		rx, err := sacn.NewReceiver(sacn.ReceiverConfig{Multicast: r.Output.Multicast, Interfaces: r.Output.Interfaces})
		if err != nil {
			return append(faults, fmt.Errorf("%s: output: listening to the desk: %w", r.Path, err))
		}
		ended, cancel := context.WithCancel(context.Background())
		cancel()
		rx.Run(ended)
	}
	return faults
}

func interfaceNames() string {
	all, err := net.Interfaces()
	if err != nil || len(all) == 0 {
		return "it has none at all"
	}
	text := "it has"
	for _, i := range all {
		text += " " + i.Name
	}
	return text
}

// feedListen is how long a feed is listened to.
const feedListen = 4 * time.Second

// checkFeeds opens every feed by itself, so that one dead feed does not hide
// the next, and says what came.
func checkFeeds(ctx context.Context, w io.Writer, r *rig.Rig, set *settings) error {
	if ctx == nil {
		ctx = context.Background()
	}
	if len(r.Feeds) == 0 {
		return fmt.Errorf("%s: the rig has no feed: nothing could be measured; add one under 'feeds:'", r.Path)
	}
	base, err := feedBase(set, r.Path, zerolog.Nop(), nil)
	if err != nil {
		return err
	}
	var faults []error
	fmt.Fprintln(w, "feeds:")
	for _, f := range r.Feeds {
		if f.Kind == "hand" {
			fmt.Fprintf(w, "  %s: a person reads the meter (trueup byhand)\n", f.Name)
			continue
		}
		one := *r
		one.Feeds = []rig.Feed{f}
		m, err := session.OpenMeters(ctx, &one, base)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		tctx, cancel := context.WithTimeout(ctx, feedListen)
		reading, err := m.ReadAfter(tctx, "", time.Time{})
		cancel()
		trouble := m.Trouble()
		m.Close()
		if err != nil {
			faults = append(faults, fmt.Errorf("%s:%d:%d: no reading within %s from %s: %s; is the meter on and the address right? 'trueup feed try' shows what it sends", r.Path, f.Pos.Line, f.Pos.Col, feedListen, f.Address, trouble))
			continue
		}
		xy := reading.UV.XY()
		fmt.Fprintf(w, "  %s (%s %s): live, probe %q reads x %.4f y %.4f", f.Name, f.Kind, filepath.ToSlash(f.Address), reading.Probe, xy.X, xy.Y)
		if reading.HasY {
			fmt.Fprintf(w, " %.1f lux", reading.Y)
		}
		fmt.Fprintln(w)
	}
	return errors.Join(faults...)
}
