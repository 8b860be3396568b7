package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

func newPaletteCommand() *cobra.Command {
	var run string
	var asJSON bool
	c := &cobra.Command{
		Use:   "palette RIG COLOUR...",
		Short: "Predict every fixture's settings for other colours, from what a match learnt",
		Long: `A match learns how each fixture mixes. From that the settings for any other colour can be predicted without reading anew:
trueup palette RIG "3200 K" "5600 K duv 0.002" D65

Every setting is marked predicted, with the standard deviation of the prediction: nothing was measured at it, and it grows the farther the
colour lies from what was read. "off" is how far the fixture's nearest point is from the colour asked for; more than the tolerance
is out of its reach. palette.csv and palette.json in the folder of the run have the fixture's own units and all raw slots.

Exit code 0: every fixture has a setting within the tolerance for every colour; 1: some have not, or no run can be used; 2: wrong use.`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) < 2 {
				return usageError("palette wants a rig file and at least one colour (see 'trueup palette --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return palette(c, args[0], args[1:], run, asJSON) },
	}
	c.Flags().StringVar(&run, "run", "", "folder of the match to learn from (default: the newest complete one of this rig)")
	c.Flags().BoolVar(&asJSON, "json", false, "write the palette as JSON to standard output")
	return c
}

func palette(c *cobra.Command, path string, colours []string, dir string, asJSON bool) error {
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	wanted := make([]colorcalc.UV, len(colours))
	for i, text := range colours {
		v, err := expr.Parse(text)
		if err != nil {
			return colourError(c.ErrOrStderr(), err)
		}
		if v.XY.UV() == (colorcalc.UV{}) {
			return usageError("%q is no colour of light", text)
		}
		wanted[i] = v.XY.UV()
	}
	compiled, err := session.Compile(r)
	if err != nil {
		return err
	}
	dir, s, err := previousRun(set.Out, r.Name, dir)
	if err != nil {
		return err
	}
	learnt, err := learntBy(dir)
	if err != nil {
		return err
	}
	all, ok := predictAll(compiled.Units, s, learnt, colours, wanted)
	if err := writePalette(dir, s, all); err != nil {
		return err
	}
	if asJSON {
		err = report.WritePaletteJSON(c.OutOrStdout(), s, all)
	} else {
		showPalette(c.OutOrStdout(), dir, s, all)
	}
	if err == nil && !ok {
		return &exitError{exitNotAll, nil}
	}
	return err
}

// learntBy plays a run again, so that it knows of each lamp what the run had learnt at its end.
func learntBy(dir string) (*core.Core, error) {
	_, f, err := openRun(dir)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	entries, _, err := session.ReadJournal(f)
	if err != nil {
		return nil, fmt.Errorf("run %s: %w", dir, err)
	}
	learnt, err := core.Replay(entries)
	if err != nil {
		return nil, fmt.Errorf("what the run %s learnt can not be had back: %w; match the rig again with this version", dir, err)
	}
	return learnt, nil
}

// predictAll predicts every colour of every fixture that is sent to. ok tells whether all have a
// setting within the tolerance. A fixture whose profile or patch was changed since the run has none.
func predictAll(units []*session.Unit, s *session.Summary, learnt *core.Core, colours []string, wanted []colorcalc.UV) (all []report.PaletteEntry, ok bool) {
	then := map[string]core.Unit{}
	for _, u := range s.Info.Core.Units {
		then[u.Info.Name] = u
	}
	ok = true
	for _, u := range units {
		if u.Head < 0 || u.Info.Name == s.Info.Core.Plan.Target.Reference {
			continue
		}
		for i, text := range colours {
			e := report.PaletteEntry{Fixture: u.Info.Name, DeskChannel: u.Info.DeskChannel, Colour: text, Status: report.Predicted}
			p, err := learnt.Predict(u.Info.Name, wanted[i])
			if was, have := then[u.Info.Name]; have && (was.Type != u.Type || was.Info.Address != u.Info.Address) {
				err = errors.New("its profile, mode or address was changed since the run: match it again")
			}
			if err != nil {
				e.Status, ok = "no setting: "+strings.TrimPrefix(err.Error(), u.Info.Name+": "), false
			} else {
				e.U, e.V, e.Off, e.SD, e.InReach = p.UV.U, p.UV.V, p.Off, p.SD, p.Off <= s.Info.Tolerance
				e.Settings, e.Slots = u.Settings(p.Codes), report.SlotText(u.Slots(p.Codes))
				ok = ok && e.InReach
			}
			all = append(all, e)
		}
	}
	return all, ok
}

func writePalette(dir string, s *session.Summary, all []report.PaletteEntry) error {
	var text, js bytes.Buffer
	if err := errors.Join(report.WritePaletteCSV(&text, all), report.WritePaletteJSON(&js, s, all)); err != nil {
		return err
	}
	return errors.Join(maybe.WriteFile(filepath.Join(dir, "palette.csv"), text.Bytes(), 0o644), maybe.WriteFile(filepath.Join(dir, "palette.json"), js.Bytes(), 0o644))
}

func showPalette(w io.Writer, dir string, s *session.Summary, all []report.PaletteEntry) {
	fmt.Fprintf(w, "predicted from the match of %s; nothing was measured at these settings\n", s.Started.Format("2 January 2006, 15:04"))
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "colour\tfixture\tstatus\toff\t± (1 sd)\tsettings")
	for _, e := range all {
		if e.Status != report.Predicted {
			fmt.Fprintf(tw, "%s\t%s\t%s\t\t\t\n", e.Colour, e.Fixture, e.Status)
			continue
		}
		status := e.Status
		if !e.InReach {
			status += ", out of reach"
		}
		var words []string
		for _, v := range e.Settings {
			words = append(words, v.Name+" "+dialed(v))
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%.4f\t%.4f\t%s\n", e.Colour, e.Fixture, status, e.Off, e.SD, strings.Join(words, ", "))
	}
	tw.Flush()
	fmt.Fprintf(w, "palette.csv and palette.json: %s\n", dir)
}
