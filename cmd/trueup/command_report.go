package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/loop/session/core"
)

func newReportCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "report RUN",
		Short: "Make report and settings sheet of a run anew, from its journal alone",
		Long: `Makes report.html, settings.csv and settings.json of the run in the folder RUN (a path, or its name in the folder of all runs) anew, from its
journal: of a run that a crash broke off, or of one that an earlier version wrote. Where other runs lie beside it the report tells how the fixtures have
aged since. Nothing is sent and nothing is read.

Exit code 0: made; 1: not; 2: wrong use.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError("report wants the folder of one run (see 'trueup report --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			set, err := loadSettings(c.Flags())
			if err != nil {
				return &exitError{exitUsage, err}
			}
			dir, err := runFolder(set.Out, args[0])
			if err != nil {
				return err
			}
			_, s, err := readRun(dir)
			if err != nil {
				return err
			}
			out := c.OutOrStdout()
			if w := core.Work(s.Info.Work); w == core.Keep || w == core.Recall {
				for _, n := range s.Notes {
					fmt.Fprintln(out, n)
				}
				return fmt.Errorf("%s: a run of the kind %q matches nothing and has no report or sheet; the match whose look it put back has", dir, w)
			}
			if err := writeUp(dir, s); err != nil {
				return err
			}
			fmt.Fprintln(out, report.Lead(s))
			if s.Torn {
				fmt.Fprintln(out, "the last line of the journal was cut short, by a crash or because the run still goes on; it is left out")
			}
			fmt.Fprintf(out, "report and settings: %s\n", dir)
			return nil
		},
	}
}
