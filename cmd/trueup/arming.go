package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"golang.org/x/term"

	"trueup/colorcalc"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/safety"
)

// showPlan says what is about to happen: which slots of which universes, at
// which priority, within which limits, and what to mind.
func (j *job) showPlan() {
	w := j.stdout
	fmt.Fprintf(w, "%s: %s\n", j.rig.Name, j.rig.Path)
	way := "own universes: slots of no fixture are sent as 0"
	if j.rig.Output.Mode == rig.Overlay {
		way = "overlay: our slots over the desk's stream, all others as the desk has them"
	}
	fmt.Fprintf(w, "  %s; priority %d; source name %q\n", way, j.rig.Output.Priority, j.rig.Output.SourceName)
	fmt.Fprintf(w, "  target: %s, tolerance %.4f u'v', level %.0f %%\n", targetText(j.rig), j.plan.Tolerance, 100*j.rig.Target.Level)
	fmt.Fprintln(w, "slots that will be driven:")
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, u := range j.compiled.Units {
		if u.Head < 0 {
			fmt.Fprintf(tw, "  %s\tnot driven\t%s\n", u.Info.Name, u.Info.Profile)
			continue
		}
		h := j.compiled.Heads[u.Head]
		fmt.Fprintf(tw, "  %s\t%s\t%s %s, %d parameters, level cap %.0f %%\n", u.Info.Name, slotRuns(h), u.Info.Profile, u.Info.Mode, len(u.Info.Parameters), 100*h.Cap)
	}
	tw.Flush()
	fmt.Fprintln(w, "limits in force:")
	for _, l := range j.rig.Safety.Limits.Describe() {
		fmt.Fprintf(w, "  %s\n", l)
	}
	fmt.Fprintf(w, "\n%s\n\n", safety.CautionsShort)
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
func (j *job) confirm() error {
	if j.yes {
		return nil
	}
	f, ok := j.stdin.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return usageError("light would move, and there is no terminal to ask in; add --yes if people are warned and the stage is clear")
	}
	fmt.Fprint(j.stdout, "Are people warned and is the stage clear? Type yes to move light: ")
	line, err := bufio.NewReader(f).ReadString('\n')
	if err != nil || strings.TrimSpace(strings.ToLower(line)) != "yes" {
		return &exitError{exitStopped, fmt.Errorf("not confirmed; no light was moved")}
	}
	return nil
}

// rehearse walks through the first setting of every fixture at the pace of the
// governor, and sends nothing.
func (j *job) rehearse(ctx context.Context) error {
	if j.preview {
		fmt.Fprintln(j.stdout, "rehearsal: levels go out marked as preview, and no lamp moves; with --live they are meant")
	} else {
		fmt.Fprintln(j.stdout, "rehearsal: nothing is sent and no lamp moves; add --live to do it")
	}
	if j.plan.Target.Reference != "" {
		fmt.Fprintf(j.stdout, "  the reference %s would be measured first; settings below are for its profile's colour or 4300 K (predicted)\n", j.plan.Target.Reference)
	}
	target := j.plan.Target.UV
	if j.plan.Target.Reference != "" {
		target = nominalReference(j.rig)
	}
	door, done, err := j.rehearsalDoor(ctx)
	if err != nil {
		return err
	}
	defer done()
	began := time.Now()
	for _, u := range j.compiled.Units {
		if u.Head < 0 || u.Info.Name == j.plan.Target.Reference {
			continue
		}
		opt := solve.DefaultOptions()
		opt.Level = u.Level
		m, err := solve.New(u.Spec, solve.Target{UV: target, Tol: j.plan.Tolerance}, nil, opt)
		if err != nil {
			return fmt.Errorf("profile %s: %w", u.Info.Profile, err)
		}
		d := m.Next(0)
		if d.Action != solve.Move {
			fmt.Fprintf(j.stdout, "  %s: %s\n", u.Info.Name, d.Reason)
			continue
		}
		door.Alive()
		if err := door.Wish(u.Head, d.Drive); err != nil {
			return err
		}
		at, err := waitAlive(ctx, door, u.Head)
		if err != nil {
			return err
		}
		var words []string
		for _, s := range u.Settings(d.Drive) {
			words = append(words, fmt.Sprintf("%s %.5g %s", s.Name, s.Value, s.Unit))
		}
		fmt.Fprintf(j.stdout, "  %s after %.1f s: %s\n", u.Info.Name, at.Sub(began).Seconds(), strings.Join(words, ", "))
		if dark := u.Dark; dark != nil {
			if err := door.Wish(u.Head, dark(d.Drive)); err != nil {
				return err
			}
		}
	}
	fmt.Fprintln(j.stdout, "rehearsal done; no lamp was moved")
	return nil
}

// rehearsalDoor makes frames and sends none, or sends them marked as preview.
func (j *job) rehearsalDoor(ctx context.Context) (*safety.Door, func(), error) {
	if j.preview {
		d, err := j.openDoor(ctx)
		if err != nil {
			return nil, nil, err
		}
		return d.Door, d.close, nil
	}
	d, err := safety.Open(ctx, safety.DoorConfig{Silent: true, Log: j.log,
		Governor: safety.Config{Limits: j.rig.Safety.Limits, Heads: j.compiled.Heads, Start: j.compiled.Start}})
	if err != nil {
		return nil, nil, err
	}
	return d, func() { d.Close() }, nil
}

// waitAlive waits for a head and feeds the watchdog meanwhile.
func waitAlive(ctx context.Context, door *safety.Door, head int) (time.Time, error) {
	for {
		door.Alive()
		tctx, cancel := context.WithTimeout(ctx, 500*time.Millisecond)
		at, err := door.WaitArrived(tctx, head)
		again := err != nil && tctx.Err() != nil && ctx.Err() == nil
		cancel()
		if !again {
			return at, err
		}
	}
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
