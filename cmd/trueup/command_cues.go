package main

import (
	"fmt"
	"path/filepath"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
)

func newCuesCommand() *cobra.Command {
	o := report.CueOptions{}
	c := &cobra.Command{
		Use:   "cues RUN",
		Short: "Write a matched look as a cue that desks can load (USITT ASCII)",
		Long: `Writes the look that a run left into a file cue-NUMBER.asc in the folder of the run: one cue in the USITT ASCII text
representation 3.0, which many desks load. RUN is the folder of a run (a path, or its name in the folder of all runs). Nothing is measured and nothing is sent.

A fixture's desk_channel in the rig file is the channel of its first slot, and its other slots follow: 101, 102, 103 and so on, fine
slots too; in a range desk_step leaves room for them. With --by-address slot s of universe n is channel 512 (n - 1) + s, as in a desk that is patched one to one.

Every raw slot that the look needs is in the cue: pinned, shutter, mode-select and fine slots too. Choose a number that is free in
your show. A cue changes the light when the desk plays it: warn people, and look at the stage.

Exit codes: 0 the cue is written; 1 the run has no look to hand over, or a file can not be read or written; 2 wrong command line.`,
		Args: oneRun,
		RunE: func(c *cobra.Command, args []string) error { return writeCue(c, args[0], o) },
	}
	c.Flags().StringVar(&o.Cue, "cue", "", "number of the cue, free in your show (must be given)")
	c.Flags().Float64Var(&o.Up, "up", 4, "time of the fade up, in seconds")
	c.Flags().Float64Var(&o.Down, "down", 4, "time of the fade down, in seconds")
	c.Flags().BoolVar(&o.ByAddress, "by-address", false, "count channels by address, not by desk_channel of the rig file")
	return c
}

func writeCue(c *cobra.Command, run string, o report.CueOptions) error {
	if o.Cue == "" {
		return usageError("cues wants the number of the cue, free in your show: --cue 901")
	}
	if err := o.Check(); err != nil {
		return usageError("%w", err)
	}
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	dir, s, err := readLook(set.Out, run)
	if err != nil {
		return err
	}
	text, left, err := report.Cue(s, o)
	if err != nil {
		return err
	}
	path := filepath.Join(dir, "cue-"+o.Cue+".asc")
	if err := maybe.WriteFile(path, text, 0o644); err != nil {
		return err
	}
	w := c.OutOrStdout()
	for _, l := range left {
		fmt.Fprintf(w, "not in the cue: %s\n", l)
	}
	fmt.Fprintf(w, "%s\nA cue changes the light when the desk plays it: warn people, and look at the stage.\n", path)
	return nil
}
