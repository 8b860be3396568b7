package main

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/profiles/printable"
)

type tryOptions struct {
	source sourceOptions
	count  int
	limit  time.Duration
}

func newFeedTryCommand() *cobra.Command {
	var o tryOptions
	c := &cobra.Command{
		Use:   "try [RIG|INSTRUMENT]",
		Short: "Show every raw line beside the reading it became",
		Long: `Show what an instrument sends and what it is read as, line by line, to write
or check its description. Without a file the lines are JSON of our own.

  trueup feed try wren.yaml --kind serial --address /dev/ttyUSB0
  trueup feed try wren.yaml < lines.txt
  trueup feed try wren.yaml --from recording.jsonl`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, fileArg(args)) },
	}
	o.source.flags(c)
	c.Flags().IntVar(&o.count, "count", 0, "stop after so many readings (default: until stopped)")
	c.Flags().DurationVar(&o.limit, "for", 0, "stop after this time, such as 10s")
	return c
}

func (o *tryOptions) run(c *cobra.Command, file string) error {
	s, err := o.source.load(c, file)
	if err != nil {
		return err
	}
	ctx, cancel := interruptible(o.limit)
	defer cancel()
	out := c.OutOrStdout()
	var mu sync.Mutex
	say := func(format string, args ...any) { mu.Lock(); fmt.Fprintf(out, format, args...); mu.Unlock() }
	n := 0
	for i := range s.configs {
		k := &s.configs[i]
		k.Tap = func(t feed.Traffic) {
			arrow := "<"
			if t.Sent {
				arrow = ">"
			}
			if t.Topic != "" {
				arrow = printable.Text(t.Topic) + " " + arrow
			}
			if len(t.Data) > 0 {
				say("%s %s\n", arrow, visible(t.Data))
			}
		}
		k.OnEvent = func(e feed.Event) {
			switch {
			case e.Reading != nil:
				say("    = %s\n", readingWords(*e.Reading))
				mu.Lock()
				if n++; n == o.count {
					cancel()
				}
				mu.Unlock()
			case e.Aside != nil:
				say("    set aside: %s: %s\n", e.Aside.Reason, printable.Text(e.Aside.Words))
			case e.Status != nil && e.Status.Why != "":
				say("-- %s: %v: %s\n", e.Status.Name, e.Status.State, printable.Text(e.Status.Why))
			}
		}
	}
	feeds, closeAll, err := s.open(ctx)
	if err != nil {
		return err
	}
	waitEnd(ctx, feeds)
	closeAll()
	for _, f := range feeds {
		say("%s\n", countWords(f.Status()))
	}
	if n == 0 {
		return &exitError{exitNotAll, errors.New("no line became a reading")}
	}
	return nil
}

// visible shows control characters and binary as escapes.
func visible(b []byte) string {
	const most = 400
	tail := ""
	if len(b) > most {
		b, tail = b[:most], fmt.Sprintf("... (%d bytes)", len(b))
	}
	q := fmt.Sprintf("%q", b)
	return strings.ReplaceAll(q[1:len(q)-1], `\"`, `"`) + tail
}
