package main

import (
	"bytes"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/history"
	"trueup/cmd/trueup/report"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
	"trueup/profiles/yamlfile"
)

func newHistoryCommand() *cobra.Command {
	var rebuild, asJSON bool
	var plot string
	c := &cobra.Command{
		Use:   "history [RIG|UNIT]",
		Short: "Show how the fixtures of a rig, or one unit, came out of all runs so far, and how their emitters age",
		Long: `RIG is a rig's name or its file; UNIT the serial that a rig file gives a fixture (unit:), by which it is found in every rig it was in. Without
either the known names are listed. It shows every run, and of fixtures whose emitters were learnt twice or more how the light of each has changed beside the
others of its fixture, and how far its colour went, with the doubt of both (1 sd). A change within two standard deviations is said to be none that
can be told.

The index is history.sqlite in the folder of all runs. It is brought up to date from the journals each time and may be deleted; --rebuild makes it
anew. A run of another version of this program is listed, but teaches nothing of emitters.

Where machines share their lamps, the setting history_database names a PostgreSQL that all keep the same tables in, such as postgres://host/trueup
(user and password: secrets.yaml, or as for every PostgreSQL client). What a machine's journals say is sent after its runs and by this command, which then tells of
the runs of all machines. Where the server is away it says so, and tells of this machine's own; nothing is lost by that, and no run waits for it.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usageError("history wants one rig or one unit (see 'trueup history --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			name := ""
			if len(args) > 0 {
				name = args[0]
			}
			return showHistory(c, name, plot, rebuild, asJSON)
		},
	}
	c.Flags().BoolVar(&rebuild, "rebuild", false, "make the index anew from the journals")
	c.Flags().BoolVar(&asJSON, "json", false, "write it as JSON to standard output")
	c.Flags().StringVar(&plot, "plot", "", "draw the light of the emitters over time into this SVG file")
	return c
}

func showHistory(c *cobra.Command, name, plot string, rebuild, asJSON bool) (err error) {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	x, err := history.Open(c.Context(), set.Out, rebuild)
	if err != nil {
		return err
	}
	defer func() {
		if cerr := x.Close(); err == nil {
			err = cerr
		}
	}()
	db := sharedHistory(c, set, x)
	defer db.close()
	names, err := db.Names(c.Context())
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	if name == "" {
		if asJSON {
			return report.JSON(data(c), struct {
				Names []string `json:"names"`
			}{append([]string{}, names...)})
		}
		if len(names) == 0 {
			fmt.Fprintf(out, "no run in %s\n", set.Out)
		}
		for _, n := range names {
			fmt.Fprintln(out, printable.Text(n))
		}
		return nil
	}
	if isYAML(name) {
		r, err := rig.Load(name)
		if err != nil {
			return err
		}
		name = r.Name
	}
	all, err := db.Of(c.Context(), name)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		hint := ""
		if near := yamlfile.Nearest(name, names); near != "" {
			hint = "; did you mean " + near + "?"
		}
		return fmt.Errorf("no run in %s knows a rig or a unit %q%s", set.Out, name, hint)
	}
	if plot != "" {
		var b bytes.Buffer
		if err := history.WritePlot(&b, name, all); err != nil {
			return err
		}
		if err := maybe.WriteFile(plot, b.Bytes(), 0o644); err != nil {
			return err
		}
	}
	trends := history.Trends(all)
	if asJSON {
		return report.JSON(data(c), struct {
			Name   string          `json:"name"`
			Lamps  []history.Lamp  `json:"fixtures"`
			Trends []history.Trend `json:"trends"`
		}{name, all, trends})
	}
	writeHistory(out, all, trends)
	return nil
}

func writeHistory(w io.Writer, all []history.Lamp, trends []history.Trend) {
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "when\trig\twork\tfixture\tunit\tas found\tnow\tlux\toutcome")
	for _, l := range all {
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Started.Format("2006-01-02 15:04"), printable.Text(l.Rig), l.Work, printable.Text(l.Fixture), printable.Text(l.Unit),
			figureOf("%.4f", l.Found), figureOf("%.4f", l.Now), figureOf("%.0f", l.Lux), l.Result)
	}
	tw.Flush()
	for _, t := range trends {
		fmt.Fprintln(w, t.Words())
	}
}

func figureOf(format string, v *float64) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf(format, *v)
}
