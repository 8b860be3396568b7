package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/loop/feed"
	"trueup/profiles/oserror"
	"trueup/profiles/printable"
)

type readOptions struct {
	source sourceOptions
	window int
	count  int
	limit  time.Duration
	json   bool
	to     string
}

func newReadCommand() *cobra.Command {
	var o readOptions
	c := &cobra.Command{
		Use:   "read [RIG|INSTRUMENT]",
		Short: "Show what the meter reads, live, in all quantities",
		Long: `A bench display of the feeds of a rig, or of one instrument. While it runs, type

  keep NAME       keep the mean of the last readings (keep NAME at PROBE)
  compare NAME    show everything against what is kept as NAME
  drop NAME       forget it
  restart         begin the averages anew
  export FILE     write what is kept as CSV
  quit

Without a file the lines are JSON of our own:  trueup read --address 127.0.0.1:7311`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, fileArg(args)) },
	}
	o.source.flags(c)
	f := c.Flags()
	f.IntVar(&o.window, "average", 10, "readings in the mean and spread, 1 to 1000")
	f.IntVar(&o.count, "count", 0, "stop after so many readings")
	f.DurationVar(&o.limit, "for", 0, "stop after this time, such as 10s")
	f.BoolVar(&o.json, "json", false, "print one JSON object a reading")
	f.StringVar(&o.to, "to", "", "compare with this colour, such as \"5600K\" or \"xy 0.3127 0.3290\"")
	return c
}

func (o *readOptions) run(c *cobra.Command, file string) error {
	if o.window < 1 || o.window > 1000 {
		return usageError("--average %d: want 1 to 1000", o.window)
	}
	if o.count < 0 {
		return usageError("--count %d: want 0 (no end) or more", o.count)
	}
	b := newBench(o.window)
	var to *colorcalc.XY
	if o.to != "" {
		col, err := expr.Parse(o.to)
		if err != nil {
			return usageError("--to: %v", err)
		}
		to = &col.XY
		b.kept = append(b.kept, kept{Name: o.to, At: time.Now(), Mean: feed.Reading{UV: col.XY.UV(), Y: col.Y, HasY: col.Y > 0}})
		b.ref = o.to
	}
	s, err := o.source.load(c, file)
	if err != nil {
		return err
	}
	ctx, cancel := interruptible(o.limit)
	defer cancel()
	events := make(chan feed.Reading, 256)
	for i := range s.configs {
		s.configs[i].OnEvent = func(e feed.Event) {
			if e.Reading != nil {
				select {
				case events <- *e.Reading:
				case <-ctx.Done():
				}
			}
		}
	}
	feeds, closeAll, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer closeAll()
	defer cancel() // before closing: a feed may wait to tell us something
	ended := make(chan struct{})
	go func() { waitEnd(ctx, feeds); close(ended) }()
	view := &readView{out: c.OutOrStdout(), json: o.json, live: isTerminal(c.OutOrStdout()) && !o.json, bench: b, feeds: feeds, to: to}
	return view.loop(ctx, events, commandsFrom(c.InOrStdin(), s), ended, o.count)
}

// commandsFrom reads typed commands, unless the input is where readings come
// from.
func commandsFrom(in io.Reader, s *feedSource) <-chan string {
	for _, k := range s.configs {
		if k.Kind == "stdin" || k.Kind == "hand" {
			return nil
		}
	}
	lines := make(chan string)
	go func() {
		sc := bufio.NewScanner(in)
		for sc.Scan() {
			lines <- sc.Text()
		}
	}()
	return lines
}

// readView puts the bench on the screen, or on lines.
type readView struct {
	out   io.Writer
	json  bool
	live  bool
	bench *bench
	feeds []*feed.Feed
	to    *colorcalc.XY
	drawn int
	note  string
}

// drawEvery is how often the display is drawn at most.
const drawEvery = 100 * time.Millisecond

func (v *readView) loop(ctx context.Context, events <-chan feed.Reading, commands <-chan string, ended <-chan struct{}, count int) error {
	tick := time.NewTicker(drawEvery)
	defer tick.Stop()
	n := 0
	take := func(r feed.Reading) bool {
		v.bench.add(r)
		n++
		v.reading(r)
		return count > 0 && n >= count
	}
	finish := func() error {
		for {
			select {
			case r := <-events:
				if take(r) {
					return v.last(n)
				}
				continue
			default:
			}
			return v.last(n)
		}
	}
	v.draw(false)
	for {
		select {
		case r := <-events:
			if take(r) {
				return v.last(n)
			}
		case line := <-commands:
			if quit := v.typed(line); quit {
				return v.last(n)
			}
		case <-tick.C:
			v.draw(false)
		case <-ended:
			return finish()
		case <-ctx.Done():
			return finish()
		}
	}
}

func (v *readView) reading(r feed.Reading) {
	switch {
	case v.json:
		json.NewEncoder(unfolded(v.out)).Encode(jsonReading(r, v.to))
	case !v.live:
		line := readingWords(r)
		if ref := v.bench.find(v.bench.ref); ref != nil && !r.Flags.Has(feed.Underrange) {
			line += "  | to " + ref.Name + ": " + difference(ref.Mean, r)
		}
		fmt.Fprintln(v.out, line)
	}
}

func (v *readView) typed(line string) (quit bool) {
	if w := strings.TrimSpace(line); w == "quit" || w == "q" {
		v.note = ""
		v.draw(true)
		return true
	}
	words, err := v.bench.command(line, time.Now(), func(name string) (io.WriteCloser, error) {
		return os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	})
	if err != nil {
		words = oserror.Text(err)
	}
	v.note = words
	if v.live {
		v.draw(true)
	} else if words != "" && !v.json {
		fmt.Fprintln(v.out, words)
	}
	return false
}

// draw paints the display in place, above the line where the person types.
// entered says that the person has just ended that line.
func (v *readView) draw(entered bool) {
	if !v.live {
		return
	}
	var statuses []feed.Status
	for _, f := range v.feeds {
		statuses = append(statuses, f.Status())
	}
	lines := v.bench.lines(statuses, time.Now())
	lines = append(lines, "", v.note)
	width := 100
	if f := terminalOf(v.out); f != nil {
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 20 {
			width = w
		}
	}
	var b strings.Builder
	same := v.drawn == len(lines)
	switch {
	case v.drawn == 0:
	case entered || !same:
		up := v.drawn
		if entered {
			up++
		}
		fmt.Fprintf(&b, "\x1b[%dA\r\x1b[J", up)
	default:
		fmt.Fprintf(&b, "\x1b7\x1b[%dA\r", v.drawn) // what is being typed stays
	}
	for _, l := range lines {
		r := []rune(printable.Text(l))
		if len(r) > width-1 {
			r = append(r[:width-2], '…')
		}
		fmt.Fprintf(&b, "\x1b[2K%s\r\n", string(r))
	}
	if v.drawn == 0 || entered || !same {
		b.WriteString("> ")
	} else {
		b.WriteString("\x1b8")
	}
	v.drawn = len(lines)
	io.WriteString(screen(v.out), b.String())
}

func (v *readView) last(n int) error {
	if v.live {
		v.draw(false)
		fmt.Fprint(screen(v.out), "\r\n")
	}
	if n == 0 {
		return &exitError{exitNotAll, fmt.Errorf("no reading came: %s", strings.Join(states(v.feeds), "; "))}
	}
	return nil
}
