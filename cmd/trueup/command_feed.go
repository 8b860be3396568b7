package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/signal"
	"sort"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/feed/instrument"
	"trueup/profiles/printable"
)

func newFeedCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "feed",
		Short: "Try, record, check and align the meters that readings come from",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newFeedTryCommand(), newFeedRecordCommand(), newFeedReplayCommand(), newFeedCheckCommand(), newFeedAlignCommand(),
		newSchemaCommand("instrument descriptions", func() (any, error) {
			text, err := instrument.Schema()
			return json.RawMessage(text), err
		}))
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
		fmt.Fprintf(&b, "  %.0f K Duv %s", float64(t), d.Text())
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
	fmt.Fprintf(&b, ", integrated %s", printable.Span(r.Integration))
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

// countWords sums a feed up.
func countWords(s feed.Status) string {
	var reasons []string
	for why, n := range s.SetAside {
		reasons = append(reasons, fmt.Sprintf("%d %s", n, why))
	}
	sort.Strings(reasons)
	words := s.Name + ": " + printable.Count(int(s.Accepted), "reading")
	if len(reasons) > 0 {
		words += "; set aside: " + strings.Join(reasons, ", ")
	}
	return words
}
