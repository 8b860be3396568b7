package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/loop/session/rig"
	"trueup/profiles/printable"
	"trueup/profiles/yamlfile"
)

func newRigCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rig",
		Short: "Make rig files: by questions, from a planned rig or a patch list, or from an example",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	cmd.AddCommand(newSchemaCommand("rig files", func() (any, error) { return rig.Schema(), nil }), newRigNewCommand(), newRigImportCommand(), newRigCopyExampleCommand())
	return cmd
}

// writeRig writes a draft to a new file, reads it back, and says what is still
// open in it. An existing file is never overwritten.
func writeRig(c *cobra.Command, d rig.Draft, path string) error {
	text, err := d.YAML()
	if err != nil {
		return err
	}
	if err := writeNew(path, text); err != nil {
		return err
	}
	w := c.OutOrStdout()
	r, err := rig.Load(path)
	if err == nil && !slices.ContainsFunc(r.Fixtures, func(f rig.Fixture) bool { return f.Sent() }) {
		fmt.Fprintf(w, "%s: %s, without faults, and none on the network. Next: trueup byhand %s\n", path, printable.Count(len(r.Fixtures), "fixture"), typed(path))
		return nil
	}
	if err == nil {
		if err := checkPlan(r); err != nil {
			return fmt.Errorf("%s is written, and can not be run: %w", path, err)
		}
		next := "Next"
		if len(r.Feeds) == 0 {
			next = "Next: say under feeds how the meter is read, then"
		}
		fmt.Fprintf(w, "%s: %s, without faults. %s: trueup check %s\n", path, printable.Count(len(r.Fixtures), "fixture"), next, typed(path))
		return nil
	}
	fmt.Fprintf(w, "%s is written, and needs your hand in these places:\n%s", path, yamlfile.Report(err))
	var missing []string
	for _, x := range d.Fixtures {
		if x.Profile != "" && !slices.Contains(missing, x.Profile) {
			if _, err := os.Stat(filepath.Join(filepath.Dir(path), x.Profile)); err != nil {
				missing = append(missing, x.Profile)
			}
		}
	}
	if len(missing) > 0 {
		fmt.Fprintf(w, "profiles that are not there: %s (trueup profile new writes one)\n", strings.Join(missing, ", "))
	}
	return &exitError{code: exitNotAll}
}
