package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/profiles/printable"
)

type alignOptions struct {
	source   sourceOptions
	to       string
	lamps    int
	readings int
	limit    time.Duration
}

func newFeedAlignCommand() *cobra.Command {
	var o alignOptions
	c := &cobra.Command{
		Use:   "align RIG --to PROBE",
		Short: "Bring several probes into agreement on one light, or on three",
		Long: `Read the same light with every probe and keep how each differs from PROBE:
an offset in x, y and a gain in level from one light, a 3x3 matrix from three or
more lights of different colours (such as red, green and blue). It is kept in
probes.yaml beside the rig, used from then on, and shown in every report.
Nothing is sent to any fixture.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, args[0]) },
	}
	o.source.flags(c)
	f := c.Flags()
	f.StringVar(&o.to, "to", "", "probe that the others are to agree with")
	f.IntVar(&o.lamps, "lights", 1, "how many lights are read one after the other, 1 to 20")
	f.IntVar(&o.readings, "readings", 8, "readings of every probe and light, 4 to 1000")
	f.DurationVar(&o.limit, "for", 30*time.Minute, "give up after this time")
	return c
}

// run reads the probes side by side.
func (o *alignOptions) run(c *cobra.Command, file string) error {
	if o.to == "" {
		return usageError("--to: which probe are the others to agree with?")
	}
	if o.lamps < 1 || o.lamps > 20 || o.readings < 4 || o.readings > 1000 {
		return usageError("want --lights 1 to 20 and --readings 4 to 1000")
	}
	s, err := o.source.load(c, file)
	if err != nil {
		return err
	}
	if s.rigPath == "" {
		return usageError("%s is no rig; probes are aligned for a rig, which names them", file)
	}
	for i := range s.configs {
		s.configs[i].Corrections = nil // what was found before is not to be found again
	}
	ctx, cancel := interruptible(o.limit)
	defer cancel()
	feeds, closeAll, err := s.open(ctx)
	if err != nil {
		return err
	}
	defer closeAll()
	var named []string
	for _, k := range s.configs {
		for _, to := range k.Probes {
			named = append(named, to)
		}
	}
	pairs, err := o.pairs(ctx, c, feeds, named)
	if err != nil {
		return err
	}
	found := map[string]feed.Correction{}
	for _, name := range slices.Sorted(maps.Keys(pairs)) {
		if n := len(pairs[name]); n != o.lamps {
			return &exitError{exitNotAll, fmt.Errorf("probe %q was heard at %d of %d lights", name, n, o.lamps)}
		}
		k, err := feed.Align(pairs[name], o.to, time.Now())
		if err != nil {
			return &exitError{exitNotAll, fmt.Errorf("probe %q: %w", name, err)}
		}
		found[name] = k
		fmt.Fprintf(c.OutOrStdout(), "%s: %v\n", printable.Text(name), k)
	}
	path := correctionsPath(s.rigPath)
	if err := feed.SaveCorrections(path, found); err != nil {
		return &exitError{exitNotAll, err}
	}
	fmt.Fprintf(c.OutOrStdout(), "kept in %s\n", path)
	return nil
}

// pairs reads every lamp in turn, and pairs each probe with the one that the
// others are to agree with.
func (o *alignOptions) pairs(ctx context.Context, c *cobra.Command, feeds []*feed.Feed, named []string) (map[string][]feed.Pair, error) {
	pairs := map[string][]feed.Pair{}
	in := bufio.NewReader(c.InOrStdin())
	for lamp := range o.lamps {
		fmt.Fprintf(c.ErrOrStderr(), "Light %d of %d: let every probe look at the same light, wait until it is steady, and press Enter. ", lamp+1, o.lamps)
		if _, err := enterAt(in)(ctx); err != nil {
			if errors.Is(err, io.EOF) {
				err = errors.New("nobody pressed Enter")
			}
			if errors.Is(err, context.Canceled) {
				err = fmt.Errorf("%w by Ctrl-C; the corrections are as they were", errStopped)
			}
			return nil, &exitError{exitStopped, err}
		}
		means, err := meansOf(ctx, feeds, named, o.readings)
		if err != nil {
			return nil, &exitError{exitNotAll, err}
		}
		to, ok := means[o.to]
		if !ok {
			return nil, &exitError{exitNotAll, fmt.Errorf("probe %q does not speak; those that do: %s", o.to, namesOf(means))}
		}
		for name, m := range means {
			if name != o.to {
				pairs[name] = append(pairs[name], feed.Pair{Ours: m.xyz, Theirs: to.xyz, HasY: m.hasY && to.hasY})
			}
		}
	}
	if len(pairs) == 0 {
		return nil, &exitError{exitNotAll, fmt.Errorf("only %q speaks: there is nothing to align", o.to)}
	}
	return pairs, nil
}
