package main

import (
	"context"
	"errors"
	"fmt"
	"os/signal"
	"time"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/loop/session/core"
)

func newReportCommand() *cobra.Command {
	var pdf, paper, browser string
	c := &cobra.Command{
		Use:   "report RUN",
		Short: "Make report and settings sheet of a run anew, from its journal alone",
		Long: `Makes report.html, settings.csv and settings.json of the run in the folder RUN (a path, or its name in the folder of all runs) anew, from its
journal: of a run that a crash broke off, or of one that an earlier version wrote. Where other runs lie beside it the report tells how the fixtures have
aged since. Nothing is sent and nothing is read.

--pdf prints the report to a PDF file as well, through an installed Chromium; it is given no network, and is ended after two minutes.

Exit codes: 0 made; 1 not; 2 wrong command line; 3 stopped while it printed.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError("report wants the folder of one run (see 'trueup report --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := report.Paper(paper).Check(); err != nil {
				return usageError("--%v", err)
			}
			if pdf == "" && (c.Flags().Changed("paper") || c.Flags().Changed("browser") || c.Flags().Changed("pdf")) {
				return usageError("--paper and --browser go with --pdf FILE")
			}
			return makeReport(c, args[0], pdf, report.Paper(paper), browser)
		},
	}
	c.Flags().StringVar(&pdf, "pdf", "", "print the report to this PDF `FILE` too")
	c.Flags().StringVar(&paper, "paper", string(report.A4), "with --pdf: a4 or letter")
	c.Flags().StringVar(&browser, "browser", "", "with --pdf: the Chromium to print with (default: the one that is installed)")
	return c
}

func makeReport(c *cobra.Command, name, pdf string, paper report.Paper, browser string) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	dir, s, err := readLook(set.Out, name)
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
	x := extrasOf(dir, s)
	if err := writeUpWith(dir, s, x); err != nil {
		return err
	}
	fmt.Fprintln(out, report.Lead(s))
	if s.Torn {
		fmt.Fprintln(out, "the last line of the journal was cut short, by a crash or because the run still goes on; it is left out")
	}
	fmt.Fprintf(out, "report and settings: %s\n", dir)
	if pdf == "" {
		return nil
	}
	exe, err := report.Browser(browser)
	if err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(c.Context(), endSignals()...)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, printPatience)
	defer cancel()
	x.Paper = paper
	if err := report.WritePDF(ctx, exe, s, x, pdf); err != nil {
		if errors.Is(ctx.Err(), context.Canceled) {
			return &exitError{exitStopped, err}
		}
		return err
	}
	fmt.Fprintf(out, "printed: %s\n", pdf)
	return nil
}

// printPatience bounds how long a browser may print: that of 400 fixtures takes it some seconds.
const printPatience = 2 * time.Minute
