package main

import (
	"io"

	"github.com/spf13/cobra"

	"trueup/loop/feed/instrument"
)

func newFeedSchemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of instrument descriptions, for editors",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			text, err := instrument.Schema()
			if err != nil {
				return &exitError{exitNotAll, err}
			}
			_, err = io.WriteString(c.OutOrStdout(), string(text)+"\n")
			return err
		},
	}
}
