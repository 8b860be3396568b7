package main

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
)

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
