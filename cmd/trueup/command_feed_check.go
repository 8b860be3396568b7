package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/profiles/printable"
)

type feedCheckOptions struct {
	source    sourceOptions
	readings  int
	tolerance float64
	probes    []string
	step      bool
	limit     time.Duration
}

func newFeedCheckCommand() *cobra.Command {
	var o feedCheckOptions
	c := &cobra.Command{
		Use:   "check [RIG|INSTRUMENT]",
		Short: "Measure a meter's noise, rate and latency on a steady light",
		Long: `Read a steady light and say what the meter can carry: how much one reading
scatters, how many readings a tolerance takes, how often and how late readings
come. With --step you then take some light away (a hand between light and
probe), and the latency is measured. Nothing is sent to any fixture.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, fileArg(args)) },
	}
	o.source.flags(c)
	f := c.Flags()
	f.IntVar(&o.readings, "readings", 10, "readings to take, 4 to 1000")
	f.Float64Var(&o.tolerance, "tolerance", 0.0010, "tolerance in u'v' that the meter is to carry")
	f.StringSliceVar(&o.probes, "probe", nil, "probes to check (default: the first that speaks)")
	f.BoolVar(&o.step, "step", false, "measure the latency with a step of light")
	f.DurationVar(&o.limit, "for", 2*time.Minute, "give up after this time")
	return c
}

func (o *feedCheckOptions) run(c *cobra.Command, file string) error {
	if o.readings < 4 || o.readings > 1000 {
		return usageError("--readings %d: want 4 to 1000", o.readings)
	}
	if !(o.tolerance > 0 && o.tolerance < 0.1) {
		return usageError("--tolerance %v: want a distance in u'v' between 0 and 0.1", o.tolerance)
	}
	s, err := o.source.load(c, file)
	if err != nil {
		return err
	}
	ctx, cancel := interruptible(o.limit)
	defer cancel()
	feeds, closeAll, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer closeAll()
	out := c.OutOrStdout()
	probes := o.probes
	if len(probes) == 0 {
		probes = []string{""}
	}
	bad := false
	in := bufio.NewReader(c.InOrStdin())
	for _, f := range feeds {
		for _, p := range probes {
			check, err := feed.Measure(ctx, f, p, o.readings)
			if err != nil {
				return checkEnded(err)
			}
			if o.step {
				fmt.Fprintf(c.ErrOrStderr(), "Press Enter, and at once put a hand between light and probe so that the light gets weaker; hold it there. ")
				if check, err = feed.MeasureStep(ctx, f, check, enterAt(in)); err != nil {
					return checkEnded(err)
				}
			}
			fmt.Fprint(out, checkWords(f.Status(), check, o.tolerance))
			for _, a := range check.Advice(o.tolerance) {
				fmt.Fprintf(out, "  note: %s\n", a)
			}
			bad = bad || !check.Carries(o.tolerance)
		}
	}
	if bad {
		return &exitError{exitNotAll, fmt.Errorf("the meter can not carry a tolerance of %.4f", o.tolerance)}
	}
	return nil
}

// checkEnded says how a check ended that came to nothing.
func checkEnded(err error) error {
	if errors.Is(err, context.Canceled) {
		return &exitError{exitStopped, fmt.Errorf("%w by Ctrl-C", errStopped)}
	}
	return &exitError{exitNotAll, err}
}

// enterAt takes the moment at which a person presses Enter: the light changes
// after it, so that the latency can only be found too long, never too short.
func enterAt(in *bufio.Reader) func(context.Context) (time.Time, error) {
	return func(ctx context.Context) (time.Time, error) {
		got := make(chan error, 1)
		go func() { _, err := in.ReadString('\n'); got <- err }()
		select {
		case err := <-got:
			return time.Now(), err
		case <-ctx.Done():
			return time.Time{}, ctx.Err()
		}
	}
}

func checkWords(s feed.Status, c feed.Check, tol float64) string {
	var b strings.Builder
	name := s.Name
	if c.Probe != "" {
		name += ", probe " + printable.Text(c.Probe)
	}
	fmt.Fprintf(&b, "%s: %s\n", name, printable.Count(c.Readings, "reading"))
	xy := c.Mean.XY()
	fmt.Fprintf(&b, "  light      x %.4f y %.4f", xy.X, xy.Y)
	if c.MeanY > 0 {
		fmt.Fprintf(&b, "  level %.4g", c.MeanY)
	}
	fmt.Fprintf(&b, "\n  scatter    %.5f u'v' per axis", c.SigmaUV)
	if !math.IsNaN(c.SigmaLnY) {
		fmt.Fprintf(&b, ", %.2f %% of the level", 100*c.SigmaLnY)
	}
	fmt.Fprintf(&b, "\n  rounding   %.2g in x, y\n", c.RoundXY)
	fmt.Fprintf(&b, "  every      %s, integrating up to %s\n", printable.Span(c.Interval), printable.Span(c.Integration))
	switch {
	case c.SettledAfter > 0:
		fmt.Fprintf(&b, "  latency    at most %s; only new light %s after the step\n", printable.Span(c.Latency), printable.Span(c.SettledAfter))
	case c.LatencyKnown:
		fmt.Fprintf(&b, "  latency    %s by the meter's own clock\n", printable.Span(c.Latency))
	default:
		b.WriteString("  latency    not known\n")
	}
	fmt.Fprintf(&b, "  tolerance  %.4f takes about %s at one point\n", tol, printable.Count(c.ReadingsFor(tol), "reading"))
	var set []string
	for why, n := range s.SetAside {
		if why != feed.BeforeSettle {
			set = append(set, strconv.FormatUint(n, 10)+" "+string(why))
		}
	}
	if len(set) > 0 {
		fmt.Fprintf(&b, "  set aside  %s\n", strings.Join(set, ", "))
	}
	return b.String()
}
