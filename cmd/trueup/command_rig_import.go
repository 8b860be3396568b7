package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"trueup/dmx"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// importOptions are the flags of rig import.
type importOptions struct {
	mapping, out, name, color, profiles string
	typed                               []string
	offset                              int
}

func newRigImportCommand() *cobra.Command {
	var o importOptions
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Make a rig file from a planned rig (My Virtual Rig) or a patch list",
		Long: `Make a rig file from a planned rig or from a patch list. What FILE is, is seen
from what is in it. An existing file is never overwritten.

A planned rig is a My Virtual Rig file (.mvr, DIN SPEC 15801). It becomes a rig
with names, addresses, desk channels and groups, and a drafted profile for each
mode of each GDTF file that the plan's fixtures name. Everything that is guessed
is a comment; what can not be in the rig stands at its end with the reason.
House lights are locked. A plan is what somebody meant to hang: check it, go
through the profiles with the manuals, and survey the rig.
--universe-offset N is added to the plan's universe numbers, which may count
otherwise than the network. --profile TYPE=FILE takes your own profile for a
GDTF file of the plan.

A patch list is text with a line of headings, separated by commas, semicolons or
tabs. --map says which column is what: name, address (3/101, 3.101 or 3:101) or
universe and slot, profile, mode, desk_channel, probe. Without it columns with
these very headings are taken. A column is named by its
heading or by its number from 1. Rows without an address become by-hand fixtures.
--profile TYPE=FILE says which profile file stands for a type of the list;
--profile FILE is for rows without a type.

Exit codes: 0 written, and it passes trueup check; 1 not written, or written and
in need of your hand; 2 a wrong command line.`,
		Example: `  trueup rig import plan.mvr --universe-offset 4 -o rig.yaml
  trueup rig import patch.csv --map name=What,address=Where,profile=Sort,mode=Setup --profile "Tall wash=profiles/tall-wash.yaml" -o rig.yaml`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if o.offset < -dmx.MaxUniverse || o.offset > dmx.MaxUniverse {
				return usageError("--universe-offset %d: want -%d to %d", o.offset, dmx.MaxUniverse, dmx.MaxUniverse)
			}
			if err := absent(o.out); err != nil {
				return err
			}
			plan, err := isPlan(args[0])
			if err != nil {
				return err
			}
			if o.name == "" {
				o.name = strings.TrimSuffix(filepath.Base(args[0]), filepath.Ext(args[0]))
			}
			if plan {
				return importPlan(c, args[0], o)
			}
			return importList(c, args[0], o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.mapping, "map", "", "patch list: which column is what, name=COLUMN,address=COLUMN,...")
	f.StringArrayVar(&o.typed, "profile", nil, "profile of a type in the plan or list, TYPE=FILE, or of rows without a type, FILE (may be repeated)")
	f.IntVar(&o.offset, "universe-offset", 0, "plan: added to its universe numbers")
	f.StringVar(&o.profiles, "profiles", "profiles", "plan: folder beside the rig file for the drafted profiles")
	f.StringVarP(&o.out, "output", "o", "rig.yaml", "file to write; it must not exist")
	f.StringVar(&o.name, "name", "", "name of the rig (default: the file's name)")
	f.StringVar(&o.color, "color", "D65", "target colour; a reference fixture can be written later")
	return cmd
}

// isPlan tells a ZIP archive from a text.
func isPlan(path string) (bool, error) {
	f, err := userfile.Open(path, userfile.PlanOrList)
	if err != nil {
		return false, err
	}
	defer f.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if n == 0 && errors.Is(err, io.EOF) {
		return false, fmt.Errorf("%s is empty: want a planned rig (.mvr) or a patch list", path)
	}
	if n == 0 {
		return false, fmt.Errorf("%s: nothing can be read from it: %w", path, err)
	}
	head = head[:n]
	switch {
	case bytes.HasPrefix(head, []byte("PK")):
		return true, nil
	case strings.EqualFold(filepath.Ext(path), ".mvr"):
		return false, fmt.Errorf("%s is no My Virtual Rig file: it is not a ZIP archive", path)
	case bytes.Contains(head, []byte("<?xml")) || bytes.Contains(head, []byte("<GeneralSceneDescription")):
		return false, fmt.Errorf("%s is XML: give the .mvr file that it comes from, for the GDTF files lie in it", path)
	}
	return false, nil
}

func importList(c *cobra.Command, path string, o importOptions) error {
	if known, err := looksLikeRig(path); err == nil && known {
		return usageError("%s is a rig file already. To look it through: trueup check %s", path, typed(path))
	}
	if c.Flags().Changed("universe-offset") || c.Flags().Changed("profiles") {
		return usageError("--universe-offset and --profiles are for planned rigs, and %s is a patch list", path)
	}
	data, err := userfile.Read(path, userfile.PatchList)
	if err != nil {
		return err
	}
	m, err := columnsOf(path, data, o.mapping)
	if err != nil {
		return err
	}
	types, err := parseTypes(o.typed)
	if err != nil {
		return err
	}
	fixtures, err := rig.ImportCSV(path, data, m)
	if err != nil {
		return fmt.Errorf("the patch list can not be used:\n%s", strings.TrimSuffix(yamlfile.Report(err), "\n"))
	}
	if err := types.apply(fixtures, path); err != nil {
		return err
	}
	d := rig.Draft{Name: o.name, Color: o.color, Fixtures: fixtures, Comment: []string{"from " + filepath.Base(path)}}
	return writeRig(c, d, o.out)
}

// columnsOf says which column of a patch list is what: as a person has it, or by the headings where they are our own words.
func columnsOf(path string, data []byte, mapping string) (map[string]string, error) {
	heads, err := rig.Headings(path, data)
	if err != nil {
		return nil, err
	}
	if mapping == "" {
		if m := rig.MapByHeadings(heads); m != nil {
			return m, nil
		}
		return nil, usageError("%s is a patch list: say with --map which column is what, such as --map name=What,address=Where; its columns are %s", path, quoted(heads))
	}
	m, err := rig.ParseMapping(mapping)
	if err != nil {
		return nil, usageError("%w; the columns of %s are %s", err, path, quoted(heads))
	}
	return m, nil
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
