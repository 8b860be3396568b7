package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sort"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/profiles/printable"
)

func newFeedCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "feed",
		Short: "Try, record, check and align the meters that readings come from",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return usageError("which? see '%s --help'", c.CommandPath())
		},
	}
	c.AddCommand(newFeedTryCommand(), newFeedRecordCommand(), newFeedReplayCommand(), newFeedCheckCommand(), newFeedAlignCommand(), newFeedSchemaCommand())
	return c
}

// fileArg is the optional FILE of a command.
func fileArg(args []string) string {
	if len(args) == 0 {
		return ""
	}
	return args[0]
}

// interruptible ends with Ctrl-C or after a time.
func interruptible(limit time.Duration) (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	if limit <= 0 {
		return ctx, stop
	}
	ctx, cancel := context.WithTimeout(ctx, limit)
	return ctx, func() { cancel(); stop() }
}

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

// waitEnd waits until ctx ends or no feed can bring any more.
func waitEnd(ctx context.Context, feeds []*feed.Feed) {
	var wg sync.WaitGroup
	for _, f := range feeds {
		wg.Go(func() {
			for {
				if _, err := f.Next(ctx); err != nil {
					return
				}
			}
		})
	}
	wg.Wait()
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

// readingWords is a reading on one line.
func readingWords(r feed.Reading) string {
	var b strings.Builder
	if r.Probe != "" {
		fmt.Fprintf(&b, "%s: ", printable.Text(r.Probe))
	}
	if r.Flags.Has(feed.Underrange) {
		b.WriteString("too dark for a colour")
		return b.String()
	}
	xy := r.UV.XY()
	fmt.Fprintf(&b, "x %.4f y %.4f", xy.X, xy.Y)
	if t, d, err := colorcalc.CCT(xy); err == nil {
		fmt.Fprintf(&b, "  %.0f K Duv %+.4f", float64(t), float64(d))
	}
	if r.HasY {
		fmt.Fprintf(&b, "  level %.5g", r.Y)
	}
	if r.HasSeq {
		fmt.Fprintf(&b, "  number %d", r.Seq)
	}
	fmt.Fprintf(&b, "  (%v", r.Quantity)
	if r.RoundXY > 0 {
		fmt.Fprintf(&b, ", rounded to %.2g in xy", r.RoundXY)
	}
	fmt.Fprintf(&b, ", integrated %v", r.Integration.Round(time.Millisecond))
	if r.Flags.Has(feed.Timed) {
		b.WriteString(" by its own clock")
	}
	if r.Flags.Has(feed.NoDuv) {
		b.WriteString(", no Duv told")
	}
	if r.Flags.Has(feed.Corrected) {
		b.WriteString(", corrected")
	}
	b.WriteString(")")
	return b.String()
}

// readingsOf counts readings in words.
func readingsOf(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}

// countWords sums a feed up.
func countWords(s feed.Status) string {
	var reasons []string
	for why, n := range s.SetAside {
		reasons = append(reasons, fmt.Sprintf("%d %s", n, why))
	}
	sort.Strings(reasons)
	words := s.Name + ": " + readingsOf(int(s.Accepted))
	if len(reasons) > 0 {
		words += "; set aside: " + strings.Join(reasons, ", ")
	}
	return words
}

func newFeedRecordCommand() *cobra.Command {
	var o sourceOptions
	var outFile string
	var limit time.Duration
	c := &cobra.Command{
		Use:   "record [RIG|INSTRUMENT] --out FILE",
		Short: "Keep a meter's traffic, to replay it later",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if outFile == "" {
				return usageError("--out: which file?")
			}
			s, err := o.load(c, fileArg(args))
			if err != nil {
				return err
			}
			if len(s.configs) != 1 {
				return usageError("%s has %d feeds; record them one at a time, by instrument", fileArg(args), len(s.configs))
			}
			file, err := os.OpenFile(outFile, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
			if err != nil {
				return &exitError{exitNotAll, err}
			}
			rec := feed.NewRecorder(file, time.Now())
			s.configs[0].Tap = rec.Tap
			ctx, cancel := interruptible(limit)
			defer cancel()
			feeds, closeAll, err := s.open(ctx)
			if err != nil {
				return err
			}
			fmt.Fprintf(c.ErrOrStderr(), "recording to %s; stop with Ctrl-C\n", outFile)
			waitEnd(ctx, feeds)
			closeAll()
			if err := errors.Join(rec.Err(), file.Sync(), file.Close()); err != nil {
				return &exitError{exitNotAll, err}
			}
			fmt.Fprintln(c.OutOrStdout(), countWords(feeds[0].Status()))
			return nil
		},
	}
	o.flags(c)
	c.Flags().StringVar(&outFile, "out", "", "file to write; it must not exist")
	c.Flags().DurationVar(&limit, "for", 0, "stop after this time, such as 1m")
	return c
}

func newFeedReplayCommand() *cobra.Command {
	var listen string
	c := &cobra.Command{
		Use:   "replay RECORDING [INSTRUMENT]",
		Short: "Play a recording: as readings, or as if the meter stood there",
		Long: `Play a recording at its own pace. The readings are printed as JSON lines; with
--listen, whoever connects hears what the instrument said.`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			if listen != "" {
				return serveRecording(c, args[0], listen)
			}
			o := sourceOptions{from: args[0]}
			s, err := o.load(c, fileArg(args[1:]))
			if err != nil {
				return err
			}
			ctx, cancel := interruptible(0)
			defer cancel()
			enc := json.NewEncoder(c.OutOrStdout())
			s.configs[0].OnEvent = func(e feed.Event) {
				if e.Reading != nil {
					enc.Encode(jsonReading(*e.Reading, nil))
				}
			}
			feeds, closeAll, err := s.open(ctx)
			if err != nil {
				return err
			}
			waitEnd(ctx, feeds)
			closeAll()
			fmt.Fprintln(c.ErrOrStderr(), countWords(feeds[0].Status()))
			return nil
		},
	}
	c.Flags().StringVar(&listen, "listen", "", "serve the recording at this host:port, such as 127.0.0.1:4001")
	return c
}

func newFeedSchemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of instrument descriptions, for editors",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			text, err := feed.InstrumentSchema()
			if err != nil {
				return &exitError{exitNotAll, err}
			}
			_, err = io.WriteString(c.OutOrStdout(), string(text)+"\n")
			return err
		},
	}
}
