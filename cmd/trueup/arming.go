package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"golang.org/x/term"

	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/safety"
)

// showPlan says what is about to happen: which slots of which universes, at
// which priority, within which limits, and what to mind.
func showPlan(w io.Writer, j session.Job) {
	fmt.Fprintf(w, "%s: %s\n", j.Rig.Name, j.Rig.Path)
	way := "own universes: slots of no fixture are sent as 0"
	if j.Rig.Output.Mode == rig.Overlay {
		way = "overlay: our slots over the desk's stream, all others as the desk has them"
	}
	priority := fmt.Sprintf("priority %d", j.Rig.Output.Priority)
	if j.Rig.Output.AutoPriority {
		priority = "priority one above the highest heard"
	}
	fmt.Fprintf(w, "  %s; %s; source name %q\n", way, priority, j.Rig.Output.SourceName)
	fmt.Fprintf(w, "  target: %s, tolerance %.4f u'v', level %.0f %%\n", session.TargetText(j.Rig), j.Plan.Tolerance, 100*j.Rig.Target.Level)
	fmt.Fprintln(w, "slots that will be driven:")
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, u := range j.Compiled.Units {
		if u.Head < 0 {
			fmt.Fprintf(tw, "  %s\tnot driven\t%s\n", u.Info.Name, u.Info.Profile)
			continue
		}
		h := j.Compiled.Heads[u.Head]
		fmt.Fprintf(tw, "  %s\t%s\t%s %s, %d parameters, level cap %.0f %%\n", u.Info.Name, slotRuns(h), u.Info.Profile, u.Info.Mode, len(u.Info.Parameters), 100*h.Cap)
	}
	tw.Flush()
	showLimits(w, j.Rig)
	fmt.Fprintf(w, "\n%s\n\n", safety.CautionsShort)
}

// showLimits says the limits in force, and loudly if nobody chose them.
func showLimits(w io.Writer, r *rig.Rig) {
	fmt.Fprintln(w, "limits in force:")
	for _, l := range r.Safety.Limits.Describe() {
		fmt.Fprintf(w, "  %s\n", l)
	}
	if r.Safety.Unsaid {
		fmt.Fprintln(w, "  CAUTION: the rig file has no safety block, so fixtures may be driven to full light; write safety: {level_cap: 60 %} to limit them")
	}
}

// slotRuns writes a head's slots as the trade does: 1/101-108.
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
			runs = append(runs, fmt.Sprintf("%d-%d", s, end))
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
	fmt.Fprint(w, "Are people warned and is the stage clear? Type yes to move light: ")
	line, err := bufio.NewReader(f).ReadString('\n')
	if err != nil || strings.TrimSpace(strings.ToLower(line)) != "yes" {
		return &exitError{exitStopped, fmt.Errorf("not confirmed; no light was moved")}
	}
	return nil
}
