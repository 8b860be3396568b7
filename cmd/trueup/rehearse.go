package main

import (
	"fmt"
	"io"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// onNetwork walks through the first setting of every fixture on the network, at the pace of the
// governor, with levels that are marked as preview.
func onNetwork(sig *signals, w io.Writer, j session.Job) error {
	fmt.Fprintln(w, "rehearsal on the network: levels go out marked as preview, and no light changes; with --live they are meant")
	if name := j.Plan.Target.Reference; name != "" {
		fmt.Fprintf(w, "  the reference %s would be measured first; settings below are for its profile's colour or 4300 K (predicted)\n", name)
		j.Plan.Target = core.Target{Text: name, UV: nominalReference(j.Rig)}
		j.Compiled = without(j.Compiled, name)
	}
	j.Work, j.OutRoot, j.Learnt, j.Times = core.Rehearse, "", nil, core.TypeTimes{}
	j.Preview = true
	j.Say = func(text string) { fmt.Fprintln(w, text) }
	var began time.Time
	j.Listen = func(e session.Entry) {
		if began.IsZero() {
			began = e.Time
		}
		switch {
		case e.Kind == core.KindSent:
			fmt.Fprintf(w, "  %s after %.1f s: %s\n", e.Fixture, e.Time.Sub(began).Seconds(), settingsWords(e.Step.Settings))
		case e.Kind == core.KindOutcome:
			fmt.Fprintf(w, "  %s: %s\n", e.Fixture, e.Outcome.Reason)
		}
	}
	run, err := session.Open(sig.ctx, j)
	if err == nil {
		sig.armed(run)
		_, err = run.Work(sig.ctx)
	}
	if err = sig.cause(err); stopped(err) {
		return &exitError{exitStopped, err}
	}
	if err != nil {
		return err
	}
	fmt.Fprintln(w, "rehearsal done; no light was changed")
	return nil
}

// without makes a fixture one that is not moved.
func without(c *session.Compiled, name string) *session.Compiled {
	out := *c
	out.Units = nil
	for _, u := range c.Units {
		if u.Info.Name != name {
			out.Units = append(out.Units, u)
		}
	}
	return &out
}

// nominalReference is what the profile of the reference says of its light; a
// neutral 4300 K where it says nothing. Used in rehearsals only.
func nominalReference(r *rig.Rig) colorcalc.UV {
	if f, ok := r.Fixture(r.Target.Reference); ok && f.Mode != nil && f.Mode.White != nil {
		return *f.Mode.White
	}
	xy, err := colorcalc.White(4300, 0)
	if err != nil {
		return colorcalc.UV{}
	}
	return xy.UV()
}
