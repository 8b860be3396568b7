package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/loop/session/rig"
	"trueup/profiles/yamlfile"
)

func newRigCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rig",
		Short: "Make rig files: by questions, from a patch list; and their schema",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	cmd.AddCommand(newRigSchemaCommand(), newRigNewCommand(), newRigImportCommand())
	return cmd
}

func newRigSchemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of rig files, for an editor",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			e := json.NewEncoder(c.OutOrStdout())
			e.SetIndent("", "  ")
			e.SetEscapeHTML(false)
			return e.Encode(rig.Schema())
		},
	}
}

func newRigImportCommand() *cobra.Command {
	var mapping, out, name, color string
	var typed []string
	cmd := &cobra.Command{
		Use:   "import FILE.csv --map name=COLUMN,address=COLUMN,...",
		Short: "Make a rig file from a patch list",
		Long: `Make a rig file from a patch list: text with a line of headings, separated by
commas, semicolons or tabs.

--map says which column is what: name, address (3/101, 3.101 or 3:101) or
universe and slot, profile, mode, desk_channel, probe. A column is named by its
heading or by its number from 1. Rows without an address become by-hand lamps.
--profile TYPE=FILE says which profile file stands for a type of the list;
--profile FILE is for rows without a type.`,
		Example: "  trueup rig import patch.csv --map name=Label,address=DMX,profile=Type,mode=Mode --profile \"Wash 60=profiles/wash60.yaml\" -o rig.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			m, err := rig.ParseMapping(mapping)
			if err != nil {
				return usageError("%w", err)
			}
			types, err := parseTypes(typed)
			if err != nil {
				return err
			}
			data, err := os.ReadFile(args[0])
			if err != nil {
				return err
			}
			fixtures, err := rig.ImportCSV(args[0], data, m)
			if err != nil {
				return fmt.Errorf("the patch list can not be used:\n%s", strings.TrimSuffix(yamlfile.Report(err), "\n"))
			}
			if err := types.apply(fixtures, args[0]); err != nil {
				return err
			}
			if name == "" {
				name = strings.TrimSuffix(filepath.Base(args[0]), filepath.Ext(args[0]))
			}
			d := rig.Draft{Name: name, Color: color, Fixtures: fixtures, Comment: []string{"from " + filepath.Base(args[0])}}
			return writeRig(c, d, out)
		},
	}
	f := cmd.Flags()
	f.StringVar(&mapping, "map", "", "which column is what: name=COLUMN,address=COLUMN,...")
	f.StringArrayVar(&typed, "profile", nil, "profile of a type in the list, TYPE=FILE, or of rows without a type, FILE (may be repeated)")
	f.StringVarP(&out, "output", "o", "rig.yaml", "file to write; it must not exist")
	f.StringVar(&name, "name", "", "name of the rig (default: the list's file name)")
	f.StringVar(&color, "color", "D65", "target colour; a reference fixture can be written later")
	_ = cmd.MarkFlagRequired("map")
	return cmd
}

// types says which profile file stands for what a patch list calls a type; the
// empty type is that of rows without one.
type types map[string]string

func parseTypes(flags []string) (types, error) {
	t := types{}
	for _, text := range flags {
		from, to, ok := strings.Cut(text, "=")
		if !ok {
			from, to = "", text
		} else if from == "" {
			return nil, usageError("--profile %q: want TYPE=FILE or FILE", text)
		}
		if to == "" || t[from] != "" {
			return nil, usageError("--profile %q: want each type once, as TYPE=FILE or FILE", text)
		}
		t[from] = to
	}
	return t, nil
}

// apply puts the files in; every type named must be one of the list's.
func (t types) apply(fixtures []rig.DraftFixture, list string) error {
	used := map[string]bool{}
	for i := range fixtures {
		if to, ok := t[fixtures[i].Profile]; ok {
			used[fixtures[i].Profile] = true
			fixtures[i].Profile = to
		}
	}
	for from, to := range t {
		switch {
		case used[from]:
		case from == "":
			return usageError("--profile %s: every row of %s has a type; write TYPE=%s", to, list, to)
		default:
			return usageError("--profile %s=%s: no row of %s has this type", from, to, list)
		}
	}
	return nil
}

// writeRig writes a draft to a new file, reads it back, and says what is still
// open in it. An existing file is never overwritten.
func writeRig(c *cobra.Command, d rig.Draft, path string) error {
	text, err := d.YAML()
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s exists already and is left as it is; name another file", path)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	w := c.OutOrStdout()
	r, err := rig.Load(path)
	if err == nil {
		fmt.Fprintf(w, "%s: %d fixtures, without faults. Next: trueup check %s\n", path, len(r.Fixtures), path)
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
