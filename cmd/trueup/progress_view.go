package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/profiles/printable"
)

// view is the block for a window: how far, how long, what for, and as many fixtures as fit. It has at most
// height-1 lines, so that the cursor stands below it and nothing scrolls away, and no line reaches the last column.
func (p *progress) view(width, height int, now time.Time) []string {
	lines := p.head(now)
	room := height - 1 - len(lines)
	if len(p.rows) <= room {
		wide := p.widest(len(p.rows))
		for i := range p.rows {
			lines = append(lines, p.rows[i].line(wide))
		}
	} else {
		lines = append(lines, p.chosen(room)...)
	}
	lines = lines[:min(len(lines), max(height-1, 1))]
	for i, l := range lines {
		lines[i] = ansi.Truncate(printable.Text(l), max(width-1, 1), "…")
	}
	return lines
}

// head says how far the run is, how long it goes on, what it waits for, and what waits for a person.
func (p *progress) head(now time.Time) []string {
	r := &p.run
	far := fmt.Sprintf("%d of %d done: %d landed, ", r.Done, r.Of, r.Landed)
	if r.ToRead > 0 {
		far += fmt.Sprintf("%d predicted, ", r.ToRead)
	}
	far += fmt.Sprintf("%d not", r.Not)
	if r.Twice && r.Done > 0 {
		far += fmt.Sprintf("; %d read again", r.Proven)
	}
	long := report.Roughly(now.Sub(r.Began).Truncate(time.Second)) + " gone"
	if left, ok := r.Left(now); ok && left >= time.Second {
		long += ", about " + report.Roughly(left.Truncate(time.Second)) + " left"
	}
	lines := []string{far, long}
	if words := shares(r.Waiting.Spent()); words != "" {
		lines = append(lines, words)
	}
	if r.Wants != "" {
		lines = append(lines, "! "+r.Wants)
	}
	return lines
}

// shares is where the time went so far, in percent.
func shares(s session.Spent) string {
	total := s.Total()
	if total < time.Second {
		return ""
	}
	pc := func(d time.Duration) float64 { return 100 * d.Seconds() / total.Seconds() }
	words := fmt.Sprintf("fades %.0f %%, settling %.0f %%, meter %.0f %%", pc(s.Fade), pc(s.Settle), pc(s.Meter()))
	if pc(s.Watch) >= 1 {
		words += fmt.Sprintf(", watching %.0f %%", pc(s.Watch))
	}
	if pc(s.Other) >= 1 {
		words += fmt.Sprintf(", other %.0f %%", pc(s.Other))
	}
	return words
}

// chosen are the fixtures that matter most where not all fit: those that are worked at, then those that
// want a person, then those that ended last.
func (p *progress) chosen(room int) []string {
	var rows []int
	add := func(i int) {
		if len(rows) < room && !slices.Contains(rows, i) {
			rows = append(rows, i)
		}
	}
	for _, name := range slices.Backward(p.run.At) {
		add(p.index[name])
	}
	at := len(rows)
	wants := 0
	for i := range p.rows {
		if p.rows[i].wants {
			wants++
		}
	}
	shown := 0
	for i := range p.rows {
		if p.rows[i].wants && (len(rows) < room-1 || wants-shown == 1) {
			add(i)
			shown++
		}
	}
	wide := p.widest(len(p.rows))
	var lines []string
	line := func(mark string, i int) { lines = append(lines, mark+strings.TrimPrefix(p.rows[i].line(wide), "  ")) }
	for k, i := range rows {
		line(map[bool]string{true: "> ", false: "! "}[k < at], i)
	}
	if more := wants - shown; more > 0 && len(lines) < room {
		lines = append(lines, fmt.Sprintf("! and %d more that did not land", more))
	}
	for _, i := range slices.Backward(p.order) {
		if len(lines) >= room {
			break
		}
		if !slices.Contains(rows, i) {
			rows = append(rows, i)
			line("  ", i)
		}
	}
	return lines
}

// widest is how wide the names of the first n rows are, within reason.
func (p *progress) widest(n int) int {
	wide := 4
	for _, r := range p.rows[:n] {
		wide = max(wide, ansi.StringWidth(r.name))
	}
	return min(wide, 24)
}

func (r *progressRow) line(wide int) string {
	name := ansi.Truncate(printable.Text(r.name), wide, "…")
	name += strings.Repeat(" ", max(0, wide-ansi.StringWidth(name)))
	if !r.hasFound && !r.hasNow {
		return fmt.Sprintf("  %s  %-20s %s", name, r.state, r.words)
	}
	found, now := "      ", "      "
	if r.hasFound {
		found = fmt.Sprintf("%.4f", r.found)
	}
	if r.hasNow {
		now = fmt.Sprintf("%.4f", r.now)
	}
	return fmt.Sprintf("  %s  %-20s %s -> %s  %-11s  %s", name, r.state, found, now, printable.Count(r.readings.Count, "reading"), r.words)
}
