package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/printable"
)

// spotsOf reads which points are meant: a number, a grid such as 4x3 (columns, rows), or names with commas. where names what said it.
func spotsOf(where, said string) (all []core.Spot, err error) {
	wrong := func(why string) error {
		return usageError("%s %q: %s; want a number of points, a grid such as 4x3, or names with commas", where, said, why)
	}
	said = strings.TrimSpace(said)
	if n, err := strconv.Atoi(said); err == nil {
		if n < 1 || n > core.MostPoints {
			return nil, wrong(fmt.Sprintf("1 to %d points can be read", core.MostPoints))
		}
		for i := range n {
			all = append(all, core.Spot{Name: fmt.Sprintf("point %d", i+1)})
		}
		return all, nil
	}
	if a, b, ok := strings.Cut(strings.ToLower(said), "x"); ok {
		cols, err1 := strconv.Atoi(a)
		rows, err2 := strconv.Atoi(b)
		if err1 == nil && err2 == nil {
			if cols < 1 || rows < 1 || cols > core.MostPoints || rows > core.MostPoints || cols*rows > core.MostPoints {
				return nil, wrong(fmt.Sprintf("a grid has 1 to %d points", core.MostPoints))
			}
			for r := range rows {
				for c := range cols {
					all = append(all, core.Spot{Name: fmt.Sprintf("column %d, row %d", c+1, r+1), Col: c + 1, Row: r + 1})
				}
			}
			return all, nil
		}
	}
	for name := range strings.SplitSeq(said, ",") {
		name = strings.TrimSpace(name)
		switch {
		case name == "" || len(name) > 80:
			return nil, wrong("a name has 1 to 80 letters")
		case slices.ContainsFunc(all, func(s core.Spot) bool { return s.Name == name }):
			return nil, wrong(fmt.Sprintf("%q stands there twice", name))
		case len(all) == core.MostPoints:
			return nil, wrong(fmt.Sprintf("at most %d points can be read", core.MostPoints))
		}
		all = append(all, core.Spot{Name: name})
	}
	return all, nil
}

// probeTaken is the probe that a person takes from point to point.
func probeTaken(units []*session.Unit, said string) (string, error) {
	var all []string
	for _, u := range units {
		if !slices.Contains(all, u.Info.Probe) {
			all = append(all, u.Info.Probe)
		}
	}
	slices.Sort(all)
	switch {
	case said != "" && !slices.Contains(all, said):
		return "", usageError("--probe %q: the rig has no such probe; it has %s", said, strings.Join(all, ", "))
	case said != "":
		return said, nil
	case len(all) > 1:
		return "", usageError("the rig has several probes (%s): say with --probe which one is taken from point to point", strings.Join(all, ", "))
	}
	return all[0], nil
}

// verifyPoints lights a matched look as a whole and has a person take the meter from point to point.
func verifyPoints(c *cobra.Command, path string, f runFlags, previous, points, probe string) error {
	at, err := spotsOf("--points", points)
	if err != nil {
		return err
	}
	if !f.live || f.rehearse {
		return usageError("--points reads the lit surface: it needs --live, and there is nothing to rehearse")
	}
	if f.page {
		return usageError("--points and --page do not go together: the points are asked for in the terminal")
	}
	result := c.OutOrStdout()
	if f.json {
		c.SetOut(c.ErrOrStderr())
	}
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	if err := onStage(r, f.stage); err != nil {
		return err
	}
	if !session.ReadByHand(r) && !typedIn(c.InOrStdin()) {
		return usageError("--points asks a person to take the meter from point to point: it needs a terminal")
	}
	j, err := newJob(r, core.Points, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	dir, err := aimAtPoints(set, &j, at, probe, previous)
	if err != nil {
		return err
	}
	out := c.OutOrStdout()
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	showPlan(out, j)
	fmt.Fprintf(out, "the look of %s is lit, and read at %s\n", dir, printable.Count(len(at), "point"))
	if err := confirm(c.InOrStdin(), out, f.yes); err != nil {
		return err
	}
	res, err := runJob(c, sig, set, j)
	if res != nil && res.Summary != nil {
		if f.json {
			err = errors.Join(err, report.WriteRunJSON(result, res.Dir, res.Summary, nil))
		} else {
			report.WritePoints(result, res.Summary)
			fmt.Fprintf(result, "report and journal: %s\n", res.Dir)
		}
		sayStage(out, j, res, sig.left(), err)
	}
	switch {
	case stopped(err):
		return &exitError{exitStopped, err}
	case err != nil:
		return err
	case len(res.Summary.Points) < len(at) || slices.ContainsFunc(res.Summary.Points, func(p core.PointRead) bool { return p.Delta > j.Plan.Tolerance }):
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// aimAtPoints has a job read the look of an earlier run at points, with a probe (default: the only one). dir is that run's.
func aimAtPoints(set *settings, j *session.Job, at []core.Spot, probe, previous string) (dir string, err error) {
	if probe, err = probeTaken(j.Compiled.Units, probe); err != nil {
		return "", err
	}
	j.Points = &core.PointPlan{Probe: probe, At: at}
	dir, s, err := previousRun(set.Out, j.Rig.Name, previous)
	if err != nil {
		return "", err
	}
	if err := pointsAsMatched(j, s); err != nil {
		return "", fmt.Errorf("%s: %w", dir, err)
	}
	return dir, nil
}

// pointsAsMatched has a job light what an earlier run left of the lamps that are still what they were.
func pointsAsMatched(j *session.Job, s *session.Summary) error {
	if err := keepAsMatched(j, s); err != nil {
		return err
	}
	j.Plan.KeepLit = true // nothing is put out
	return nil
}

// typedIn tells whether a person types into a reader.
func typedIn(in io.Reader) bool {
	f, ok := in.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
