package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"trueup/profiles"
	"trueup/profiles/printable"
	"trueup/profiles/yamlfile"
)

func newProfileCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "profile",
		Short: "Write and check fixture profiles",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	cmd.AddCommand(newProfileCheckCommand(), newSchemaCommand("profiles", func() (any, error) { return profiles.Schema(), nil }), newProfileNewCommand(), newProfileDraftCommand(), newProfileProbeCommand())
	return cmd
}

func newProfileCheckCommand() *cobra.Command {
	var quiet bool
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "Say what is wrong in profiles, and how they were understood",
		Args:  cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, files []string) error {
			bad := 0
			for _, path := range files {
				p, err := profiles.Load(path)
				if err != nil {
					bad++
					fmt.Fprintf(c.ErrOrStderr(), "%s", yamlfile.Report(err))
					if hint := hintFor(err); hint != "" {
						fmt.Fprintf(c.ErrOrStderr(), "hint: %s\n", hint)
					}
					continue
				}
				if !quiet {
					describeProfile(c.OutOrStdout(), path, p)
				}
			}
			if bad > 0 {
				return &exitError{exitNotAll, fmt.Errorf("%d of %s can not be used", bad, printable.Count(len(files), "profile"))}
			}
			return nil
		},
	}
	cmd.Flags().BoolVarP(&quiet, "quiet", "q", false, "say nothing of good profiles")
	return cmd
}

func describeProfile(w io.Writer, path string, p *profiles.Profile) {
	name := p.Name
	if p.Maker != "" {
		name = p.Maker + " " + p.Name
	}
	fmt.Fprintf(w, "%s: %s\n", path, name)
	for i := range p.Modes {
		m := &p.Modes[i]
		fmt.Fprintf(w, "  mode %q (%s)\n", m.Name, m.Kind)
		for _, line := range m.Describe() {
			fmt.Fprintf(w, "    %s\n", line)
		}
	}
}
