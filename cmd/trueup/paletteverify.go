package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/page"
	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// paletteVerify is what is asked for when predicted settings are to be read.
type paletteVerify struct {
	most  int // settings that are read
	yes   bool
	stage string

	taken bool // what was read stands in the palette
	open  bool // a setting that was to be read is left as predicted
}

// worthReading are the places of the settings that are read: of each fixture first the one that is most in doubt, then the
// next, among those that are within reach.
func worthReading(all []report.PaletteEntry, most int) []int {
	byFixture := map[string][]int{}
	for i, e := range all {
		if e.Status == report.Predicted && e.InReach {
			byFixture[e.Fixture] = append(byFixture[e.Fixture], i)
		}
	}
	doubt := func(a, b int) int { return cmp.Or(cmp.Compare(all[b].SD, all[a].SD), cmp.Compare(a, b)) }
	var chosen []int
	for k := 0; len(chosen) < most; k++ {
		var turn []int
		for _, own := range byFixture {
			if slices.SortFunc(own, doubt); k < len(own) {
				turn = append(turn, own[k])
			}
		}
		if len(turn) == 0 {
			break
		}
		slices.SortFunc(turn, doubt)
		chosen = append(chosen, turn[:min(len(turn), most-len(chosen))]...)
	}
	slices.Sort(chosen)
	return chosen
}

// run reads the chosen settings of a palette through the governor, and corrects them and, by what was learnt, the
// others. It changes all in place, also where the run was ended early.
func (v *paletteVerify) run(c *cobra.Command, set *settings, r *rig.Rig, learnt *core.Core, all []report.PaletteEntry) error {
	chosen := worthReading(all, v.most)
	if len(chosen) == 0 {
		return fmt.Errorf("no predicted setting lies within reach of its colour: there is nothing to read")
	}
	j, err := newJob(r, core.Palette, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	j.Priors = map[string]*solve.Prior{}
	for _, i := range chosen {
		e := &all[i]
		j.Wished = append(j.Wished, core.Wished{Fixture: e.Fixture, Text: e.Colour, UV: e.Wanted, Codes: e.Codes})
		j.Priors[e.Fixture] = learnt.PriorOf(e.Fixture)
	}
	first := j.Wished[0]
	j.Plan.Target, j.Plan.Common, j.Plan.Lux, j.Plan.SecondVisit = core.Target{Text: first.Text, UV: first.UV}, core.NoCommon, 0, false
	j.Compiled = session.Choose(j.Compiled, "", func(i session.FixtureInfo) bool { return j.Priors[i.Name] != nil })
	out := c.OutOrStdout()
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	showPlan(out, j)
	fmt.Fprintf(out, "%d of %d predicted settings are read, and corrected where they lie off:\n", len(chosen), len(all))
	for _, w := range j.Wished {
		fmt.Fprintf(out, "  %s at %s\n", w.Fixture, w.Text)
	}
	if err := confirm(c.InOrStdin(), out, v.yes); err != nil {
		return err
	}
	j.WriteUp = func(string, *session.Summary) error { return nil } // the palette is what it is written up in
	res, err := runJob(c, sig, set, j)
	if res == nil {
		return err
	}
	fmt.Fprintf(out, "\njournal: %s\n%s\n", res.Dir, page.StageNow(j, sig.left(), err))
	if terr := v.takeReads(out, res.Dir, &j, all); terr != nil {
		return terr
	}
	v.taken = true
	if stopped(err) {
		return &exitError{exitStopped, err}
	}
	return err
}

// takeReads puts what a run has read into a palette, and predicts the other colours of its fixtures anew.
func (v *paletteVerify) takeReads(w io.Writer, dir string, j *session.Job, all []report.PaletteEntry) error {
	past, err := readPast(dir)
	if err != nil {
		return err
	}
	now, err := past.learnt()
	if err != nil {
		return err
	}
	reads := session.PaletteReads(past.entries)
	for i := range all {
		e := &all[i]
		k := slices.IndexFunc(j.Compiled.Units, func(u *session.Unit) bool { return u.Info.Name == e.Fixture })
		if k < 0 || len(e.Codes) == 0 {
			continue
		}
		u := j.Compiled.Units[k]
		at := slices.IndexFunc(reads, func(p session.PaletteRead) bool { return p.Fixture == e.Fixture && p.Colour == e.Colour })
		switch {
		case at >= 0 && reads[at].TakenBack == "" && reads[at].Outcome.Result != solve.Held && reads[at].Outcome.Final != nil && reads[at].Outcome.After != nil:
			o := reads[at].Outcome
			e.Status, e.InReach = report.Measured+o.Result.String(), o.Landed()
			e.U, e.V, e.Off, e.SD = o.Final.UV.U, o.Final.UV.V, o.Final.Delta, o.Final.SD
			if o.Found != nil {
				e.FoundOff = &o.Found.Delta
			}
			e.Codes, e.Within = o.After.Codes, nil
		case at >= 0:
			fmt.Fprintf(w, "%s at %s is left as predicted: %s\n", e.Fixture, e.Colour, cmp.Or(reads[at].TakenBack, reads[at].Outcome.Reason))
			v.open = true
			continue
		default:
			p, err := now.Predict(e.Fixture, e.Wanted)
			if err != nil {
				continue // no reading of it in this run: as it was predicted before
			}
			e.Predict(p, j.Plan.Tolerance)
		}
		e.Settings, e.Slots = u.Settings(e.Codes), report.SlotText(u.Slots(e.Codes))
	}
	return nil
}
