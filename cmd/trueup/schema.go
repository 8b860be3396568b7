package main

import (
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
)

// newSchemaCommand prints the JSON Schema of one kind of file, named in the plural.
func newSchemaCommand(of string, schema func() (any, error)) *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of " + of + ", for an editor",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			s, err := schema()
			if err != nil {
				return err
			}
			return report.JSON(data(c), s)
		},
	}
}
