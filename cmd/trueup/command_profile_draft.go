package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"trueup/profiles/gdtf"
)

func newProfileDraftCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "draft FILE.gdtf",
		Short: "Draft a profile from a GDTF file (DIN SPEC 15800)",
		Long: `Draft a profile from a GDTF file (DIN SPEC 15800, versions 1.0 to 1.2).

A GDTF file is what somebody typed in. The draft has a comment at every guess
and a list of what was not understood. Go through it with the manual, check it
with trueup profile check, and survey the fixture before you trust it.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			ft, err := gdtf.Open(args[0])
			if err != nil {
				return err
			}
			d, err := ft.Draft()
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], err)
			}
			if out == "" {
				_, err := data(c).Write(d.YAML)
				return err
			}
			if err := writeNew(out, d.YAML); err != nil {
				return err
			}
			for _, n := range d.Notes {
				fmt.Fprintf(c.ErrOrStderr(), "note: %s\n", n)
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: a draft. Go through its comments with the manual, then: trueup profile check %s\n", out, typed(out))
			return nil
		},
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "file to write; it must not exist (default: print)")
	return cmd
}
