package main

import (
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"golang.org/x/term"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
	"trueup/safety"
)

// planOf says what a job is about to do: which slots of which universes, at which priority, within which limits,
// and what to mind.
func planOf(j session.Job) page.Plan {
	r := j.Rig
	way := "own universes: fixtures begin at the start levels of their profiles, dark without any; slots of no fixture are sent as 0"
	if r.Output.Mode == rig.Overlay {
		way = "overlay: our slots over the desk's stream, all others as the desk has them"
	}
	priority := fmt.Sprintf("priority %d", r.Output.Priority)
	if r.Output.AutoPriority {
		priority = "priority one above the highest heard"
	}
	p := page.Plan{Work: string(j.Work), Rig: r.Name, File: r.Path, Output: fmt.Sprintf("%s; %s; source name %q", way, priority, r.Output.SourceName),
		Target: j.TargetText(), Tolerance: j.Plan.Tolerance, Level: r.Target.Level, Limits: r.Safety.Limits.Describe(), Cautions: safety.Cautions, MovesLight: true}
	if r.Safety.Unsaid {
		p.Loud = rig.UnsaidLimits
	}
	if words := j.Unaligned(); words != "" {
		p.Notes = append(p.Notes, words)
	}
	if words := j.Compiled.LitAtOnce(r); words != "" {
		p.Notes = append(p.Notes, words)
	}
	p.Notes = append(p.Notes, restlessTypes(j)...)
	for _, u := range j.Compiled.Units {
		d := page.Drive{Name: u.Info.Name, Profile: u.Info.Profile, Mode: u.Info.Mode, Parameters: len(u.Info.Parameters)}
		if u.Head >= 0 && u.Head < len(j.Compiled.Heads) {
			h := j.Compiled.Heads[u.Head]
			d.Slots, d.Cap = slotRuns(h), h.Cap
		}
		p.Drives = append(p.Drives, d)
	}
	return p
}

// restlessTypes says which fixtures are watched without being asked for, because an earlier run found their type to move its
// colour after it was lit, or that they can not be watched.
func restlessTypes(j session.Job) (notes []string) {
	if j.Work != core.Match || j.Plan.KeepLit || session.ReadByHand(j.Rig) {
		return nil
	}
	var among []core.FixtureInfo
	for _, u := range j.Compiled.Units {
		among = append(among, u.Info)
	}
	for _, u := range j.Compiled.Units {
		s := j.Times.Steadiness[u.Type]
		name := core.TypeName(u.Info, among)
		note := fmt.Sprintf("each %s is read again %s after it was lit: in an earlier run the colour of one had moved by %.4f by then", name, printable.Span(max(s.For, j.Plan.Watch)), s.Moved)
		if j.Plan.Common != core.NoCommon || !j.Plan.SecondVisit {
			note = fmt.Sprintf("%s can not be watched in this match, where %s: in an earlier run the colour of one had moved by %.4f within %s of being lit", name, unwatchable(&j), s.Moved, printable.Span(s.For))
		}
		if s.Restless() && !slices.Contains(notes, note) {
			notes = append(notes, note)
		}
	}
	return notes
}

// unwatchable is why no fixture can be watched in a match.
func unwatchable(j *session.Job) string {
	if j.Plan.SecondVisit {
		return "all are brought to one level"
	}
	return "none is read a second time"
}

// showPlan says what is about to happen; notes come beside those of the plan.
func showPlan(w io.Writer, j session.Job, notes ...string) {
	p := planOf(j)
	fmt.Fprintf(w, "%s: %s\n  %s\n", p.Rig, p.File, p.Output)
	fmt.Fprintf(w, "  target: %s, tolerance %.4f u'v', level %.0f %%\n", p.Target, p.Tolerance, 100*p.Level)
	fmt.Fprintln(w, "slots that will be driven:")
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, d := range p.Drives {
		if d.Slots == "" {
			fmt.Fprintf(tw, "  %s\tnot driven\t%s\n", d.Name, d.Profile)
			continue
		}
		fmt.Fprintf(tw, "  %s\t%s\t%s %s, %d parameters, level cap %.0f %%\n", d.Name, d.Slots, d.Profile, d.Mode, d.Parameters, 100*d.Cap)
	}
	tw.Flush()
	showLimits(w, j.Rig)
	for _, n := range append(p.Notes, notes...) {
		if n != "" {
			fmt.Fprintf(w, "note: %s\n", n)
		}
	}
	fmt.Fprintf(w, "\n%s\n\n", safety.CautionsShort)
}

// showLimits says the limits in force.
func showLimits(w io.Writer, r *rig.Rig) {
	fmt.Fprintln(w, "limits in force:")
	for _, l := range r.Safety.Describe() {
		fmt.Fprintf(w, "  %s\n", l)
	}
}

// slotRuns writes a head's slots as a rig file does: 1/101..108.
func slotRuns(h safety.Head) string {
	used := map[int]bool{}
	top := 0
	for _, r := range h.Slots {
		for _, s := range r.Slots {
			used[int(s)] = true
			top = max(top, int(s))
		}
	}
	var runs []string
	for s := 1; s <= top; s++ {
		if !used[s] {
			continue
		}
		end := s
		for used[end+1] {
			end++
		}
		if end > s {
			runs = append(runs, fmt.Sprintf("%d..%d", s, end))
		} else {
			runs = append(runs, fmt.Sprint(s))
		}
		s = end
	}
	return fmt.Sprintf("%d/%s", h.Universe, strings.Join(runs, ","))
}

// confirm asks before light moves. Without a terminal only --yes will do.
func confirm(stdin io.Reader, w io.Writer, yes bool) error {
	if yes {
		return nil
	}
	f, ok := stdin.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return usageError("light would move, and there is no terminal to ask in; add --yes if people are warned and the stage is clear")
	}
	line, err := newAnswers(f).line(w, "Are people warned and is the stage clear? Type yes to move light: ")
	if stopped(err) {
		fmt.Fprintln(w)
		return &exitError{exitStopped, fmt.Errorf("%w; no light was moved", err)}
	}
	if err != nil || strings.TrimSpace(strings.ToLower(line)) != "yes" {
		return &exitError{exitStopped, fmt.Errorf("not confirmed; no light was moved")}
	}
	return nil
}
