package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
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
	var run, list string
	var asJSON bool
	var verify paletteVerify
	c := &cobra.Command{
		Use:   "palette RIG [COLOUR...]",
		Short: "Predict every fixture's settings for other colours, from what a match learnt",
		Long: `A match learns how each fixture mixes. From that the settings for any other colour can be predicted without reading anew:
trueup palette RIG "3200 K" "5600 K duv 0.002" D65

--list FILE takes colours from a text file, one a line, beside those that are typed; examples/palettes/ has one.

Every setting is marked predicted, with the standard deviation of the prediction, which grows the farther the colour lies from what was read, and with how
likely it is within the tolerance: nothing was measured at it. "off" is how far the fixture's nearest point is from the colour asked for; more than the tolerance
is out of its reach. palette.csv and palette.json in the folder of the run have the fixture's own units and all raw slots.

With --verify N so many of the predicted settings are read: of every fixture first the one that is most in doubt. One that lies off is corrected until it
lands, and the other colours of the fixtures that were read are predicted anew from what that taught. This moves light: it shows what will be driven and
the limits, and asks. Those that were read are marked measured, with what the predicted setting had given; the run has a journal of its own.

Exit codes: 0 every fixture has a setting within the tolerance for every colour; 1 some have not, a reading of --verify
does not count, or no run can be used; 2 wrong command line;
3 ended early by a person or a signal.`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 || len(args) == 1 && list == "" {
				return usageError("palette wants a rig file and at least one colour, or a list of them (see 'trueup palette --help')")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			colours := args[1:]
			if list != "" {
				listed, err := readPaletteList(list)
				if err != nil {
					return err
				}
				colours = append(colours, listed...)
			}
			return palette(c, args[0], colours, run, asJSON, verify)
		},
	}
	c.Flags().StringVar(&list, "list", "", "text file of more colours, one a line")
	c.Flags().StringVar(&run, "run", "", "folder of the match to learn from (default: the newest complete one of this rig)")
	c.Flags().IntVar(&verify.most, "verify", 0, "read so many of the predicted settings, and correct them")
	c.Flags().StringVar(&verify.stage, "stage", "", "with --verify: on a simulated stage, at the two addresses that trueup stage says, SACN,METER")
	c.Flags().BoolVar(&verify.yes, "yes", false, "with --verify: do not ask before light moves: people are warned and the stage is clear")
	c.Flags().BoolVar(&asJSON, "json", false, "write the palette as JSON to standard output")
	return c
}

func palette(c *cobra.Command, path string, colours []string, dir string, asJSON bool, verify paletteVerify) error {
	result := c.OutOrStdout()
	if asJSON {
		c.SetOut(c.ErrOrStderr())
	}
	switch reads := c.Flags().Changed("verify"); {
	case reads && (verify.most < 1 || verify.most > core.MostWished):
		return usageError("--verify %d: want 1 to %d settings to read", verify.most, core.MostWished)
	case !reads && (verify.yes || verify.stage != ""):
		return usageError("--yes and --stage go with --verify N: without it nothing is sent")
	}
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	if err := onStage(r, verify.stage); err != nil {
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
	past, err := pastOf(set.Out, r.Name, dir)
	if err != nil {
		return err
	}
	dir, s := past.dir, past.sum
	learnt, err := past.learnt()
	if err != nil {
		return err
	}
	all := predictAll(compiled.Units, s, learnt, colours, wanted)
	var early error
	if verify.most > 0 {
		if early = verify.run(c, set, r, learnt, all); early != nil && !verify.taken {
			return early
		}
	}
	if err := writePalette(dir, s, all); err != nil {
		return err
	}
	if asJSON {
		err = report.WritePaletteJSON(result, s, all)
	} else {
		showPalette(result, dir, s, all)
	}
	switch {
	case err != nil:
		return err
	case early != nil:
		return early
	case verify.open || slices.ContainsFunc(all, func(e report.PaletteEntry) bool { return !e.InReach }):
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// predictAll predicts every colour of every fixture that is sent to. A fixture whose profile or patch was changed since the run has none.
func predictAll(units []*session.Unit, s *session.Summary, learnt *core.Core, colours []string, wanted []colorcalc.UV) (all []report.PaletteEntry) {
	then := map[string]core.Unit{}
	for _, u := range s.Info.Core.Units {
		then[u.Info.Name] = u
	}
	for _, u := range units {
		if u.Head < 0 || u.Info.Name == s.Info.Core.Plan.Target.Reference {
			continue
		}
		for i, text := range colours {
			e := report.PaletteEntry{Fixture: u.Info.Name, DeskChannel: u.Info.DeskChannel, Colour: text, Status: report.Predicted, Wanted: wanted[i]}
			p, err := learnt.Predict(u.Info.Name, wanted[i])
			if was, have := then[u.Info.Name]; have && (was.Type != u.Type || was.Info.Address != u.Info.Address) {
				err = errors.New("its profile, mode or address was changed since the run: match it again")
			}
			if err != nil {
				e.Status = "no setting: " + strings.TrimPrefix(err.Error(), u.Info.Name+": ")
			} else {
				e.Predict(p, s.Info.Tolerance)
				e.Settings, e.Slots = u.Settings(p.Codes), report.SlotText(u.Slots(p.Codes))
			}
			all = append(all, e)
		}
	}
	return all
}

func writePalette(dir string, s *session.Summary, all []report.PaletteEntry) error {
	var text, js bytes.Buffer
	if err := errors.Join(report.WritePaletteCSV(&text, all), report.WritePaletteJSON(&js, s, all)); err != nil {
		return err
	}
	return errors.Join(maybe.WriteFile(filepath.Join(dir, "palette.csv"), text.Bytes(), 0o644), maybe.WriteFile(filepath.Join(dir, "palette.json"), js.Bytes(), 0o644))
}

// likely is how probable it is that a setting lies within the tolerance, for it to be called more than a guess.
const likely = 0.5

// sureWords is a probability in percent, no surer than it is.
func sureWords(p float64) string {
	switch {
	case p < 0.005:
		return "under 1 %"
	case p > 0.995:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

func showPalette(w io.Writer, dir string, s *session.Summary, all []report.PaletteEntry) {
	read := slices.ContainsFunc(all, func(e report.PaletteEntry) bool { return e.FoundOff != nil })
	note := "nothing was measured at these settings"
	if read {
		note = "nothing was measured but where it says so"
	}
	fmt.Fprintf(w, "predicted from the match of %s; %s\n", s.Started.Format("2 January 2006, 15:04"), note)
	guesses := false
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintf(tw, "colour\tfixture\tstatus\toff\t± (1 sd)\twithin %.4f\tsettings\n", s.Info.Tolerance)
	for _, e := range all {
		if len(e.Settings) == 0 {
			fmt.Fprintf(tw, "%s\t%s\t%s\t\t\t\t\n", e.Colour, e.Fixture, e.Status)
			continue
		}
		status := e.Status
		switch {
		case e.FoundOff != nil:
			status += fmt.Sprintf(" (as predicted %.4f off)", *e.FoundOff)
		case !e.InReach && session.LikelyBeyond(e.Off, e.SD, s.Info.Tolerance):
			status += ", out of reach"
		case !e.InReach:
			status += ", perhaps out of reach"
		}
		within := ""
		if e.Within != nil {
			within = sureWords(*e.Within)
			guesses = guesses || e.InReach && *e.Within < likely
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%.4f\t%.4f\t%s\t%s\n", e.Colour, e.Fixture, status, e.Off, e.SD, within, settingsWords(e.Settings))
	}
	tw.Flush()
	if guesses {
		fmt.Fprintf(w, "what is within %.4f with less than %.0f %% is a place to begin, no match: palette --verify N reads and corrects the most doubtful; or match the rig at that colour\n", s.Info.Tolerance, 100*likely)
	}
	fmt.Fprintf(w, "palette.csv and palette.json: %s\n", dir)
}
