package main

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"trueup/loop/feed"
)

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
			enc := json.NewEncoder(data(c))
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
	c.Flags().StringVar(&listen, "listen", "", "serve the recording at this host:port, such as 127.0.0.1:7311")
	return c
}
