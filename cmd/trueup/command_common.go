package main

import (
	"time"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/loop/session/core"
)

func newCommonCommand() *cobra.Command {
	var asJSON bool
	var h choice
	c := &cobra.Command{
		Use:   "common RIG [COLOUR]",
		Short: "Find the colour nearest to the one that is wanted that all fixtures reach, and what each choice costs",
		Long: `Which colour can all of these fixtures be matched to? Sets the colour that is wanted (COLOUR, else the rig's target) beside the nearest colour that all
fixtures reach, or the most where none is common to all, and says of each who falls out, by how much, and the brightest level at
the probes that those which reach it can all hold. Nothing is sent and nothing is read.

What the fixtures reach comes from the newest match of the rig, else from its newest survey, else from the profiles alone; everything here is
predicted. Survey first with --live where the fixtures are old. To match to the best common colour: trueup match RIG --best-common, or
best_common: true in the target of the rig file.

Exit codes: 0 all fixtures reach the best common colour; 1 some do not; 2 wrong command line.`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return usageError("common wants a rig file and at most one colour (see 'trueup common --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			wish := ""
			if len(args) > 1 {
				wish = args[1]
			}
			return common(c, args[0], wish, h, asJSON)
		},
	}
	h.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "write the choices as JSON to standard output")
	return c
}

func common(c *cobra.Command, path, said string, h choice, asJSON bool) error {
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	j, err := newJob(r, core.Match, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	if j.Compiled, err = h.of(r, j.Compiled); err != nil {
		return err
	}
	dir, err := configDir()
	if err != nil {
		return err
	}
	loadLearnt(dir, r.Name, j.Compiled.Units, time.Now(), j.Log).give(&j)
	reaches, words, earlier, err := reachesOf(set, j)
	if err != nil {
		return err
	}
	wish, uv, err := wishOf(r, said, earlier)
	if err != nil {
		return err
	}
	all := reaches.Choices(uv)
	if asJSON {
		err = report.WriteChoicesJSON(c.OutOrStdout(), r.Name, wish, words, reaches.Fixtures(), all)
	} else {
		(&commonChoices{wish, words, reaches, all}).show(c.OutOrStdout())
	}
	if err == nil && all[len(all)-1].Reached < reaches.Fixtures() {
		return &exitError{exitNotAll, nil}
	}
	return err
}
