package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trueup/profiles/printable"
	"trueup/profiles/userfile"
)

func newLearntCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "learnt",
		Short: "List, forget or move what earlier runs learnt of your fixtures",
		Long: `Lists what earlier runs learnt of fixture types, and where it lies: one file for each profile and mode. A run starts from it,
unless it is told --forget. Nothing of it is needed: without it the first fixture of a type takes some readings more.

Kept with it is what the fixtures do in time: how long their light takes to stand still, by each feed of each rig, which the next run
looks at in one reading more in the place of measuring it, and whether match --watch found them to keep their colour after they were
lit. A type that was found to move it is watched in every later match, until three of its fixtures have been watched in one
match, for as long and as finely, and kept it. Other findings are used for half a year;
that a type keeps its colour, for matches of no finer tolerance alone.

Exit codes: 0 done; 1 a file cannot be read or written; 2 wrong command line.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return listLearnt(c) },
	}
	c.AddCommand(&cobra.Command{
		Use:   "forget NAME|all",
		Short: "Delete what was learnt of one type, as listed, or of all",
		Args:  cobra.ExactArgs(1),
		RunE:  func(c *cobra.Command, args []string) error { return forgetLearnt(c, args[0]) },
	}, &cobra.Command{
		Use:   "move FOLDER",
		Short: "Move all that was learnt to a folder, to take it along; existing files stay",
		Args:  cobra.ExactArgs(1),
		RunE:  func(c *cobra.Command, args []string) error { return moveLearnt(c, args[0]) },
	})
	return c
}

func forgetLearnt(c *cobra.Command, name string) error {
	files, err := learntFiles()
	if err != nil {
		return err
	}
	n := 0
	for _, f := range files {
		if name == "all" || name == learntName(f) {
			if err := os.Remove(f); err != nil {
				return err
			}
			n++
		}
	}
	if n == 0 && name != "all" {
		return usageError("nothing was learnt under the name %q (see trueup learnt)", name)
	}
	fmt.Fprintf(c.OutOrStdout(), "forgotten: %d\n", n)
	return nil
}

func moveLearnt(c *cobra.Command, to string) error {
	files, err := learntFiles()
	if err != nil {
		return err
	}
	if len(files) > 0 {
		if err := os.MkdirAll(to, 0o755); err != nil {
			return err
		}
	}
	for _, f := range files {
		text, err := userfile.Read(f, userfile.Learnt)
		if err != nil {
			return err
		}
		if err := writeNew(filepath.Join(to, filepath.Base(f)), text); err != nil {
			return err
		}
		if err := os.Remove(f); err != nil {
			return err
		}
	}
	dir, err := configDir()
	if err != nil {
		return err
	}
	if len(files) == 0 {
		fmt.Fprintf(c.OutOrStdout(), "nothing to move: nothing is learnt in %s\n", filepath.Join(dir, "learnt"))
		return nil
	}
	fmt.Fprintf(c.OutOrStdout(), "moved: %d; to use them on another machine put them into its %s\n", len(files), filepath.Join(dir, "learnt"))
	return nil
}

func learntFiles() ([]string, error) {
	dir, err := configDir()
	if err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(filepath.Join(dir, "learnt"))
	if err != nil && !os.IsNotExist(err) {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		if e.Type() == fs.FileMode(0) && strings.HasPrefix(e.Name(), learntPrefix) && strings.HasSuffix(e.Name(), ".json") {
			files = append(files, filepath.Join(dir, "learnt", e.Name()))
		}
	}
	return files, nil
}

func learntName(path string) string {
	return strings.TrimSuffix(strings.TrimPrefix(filepath.Base(path), learntPrefix), ".json")
}

func listLearnt(c *cobra.Command) error {
	files, err := learntFiles()
	if err != nil {
		return err
	}
	dir, err := configDir()
	if err != nil {
		return err
	}
	w := c.OutOrStdout()
	fmt.Fprintf(w, "%d learnt, in %s\n", len(files), filepath.Join(dir, "learnt"))
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, f := range files {
		var l *typeLearnt
		text, err := userfile.Read(f, userfile.Learnt)
		if err == nil {
			l, err = parseLearnt(text)
		}
		if err != nil {
			fmt.Fprintf(tw, "  %s\tcannot be read: %v\n", learntName(f), err)
			continue
		}
		info, err := os.Stat(f)
		if err != nil {
			return err
		}
		n := 0
		if l.Batch != nil {
			n = l.Units
		}
		fmt.Fprintf(tw, "  %s\t%s\tfrom %s\tlast %s\t%s\n", learntName(f), printable.Text(l.Type), printable.Count(n, "fixture"), info.ModTime().Format("2006-01-02"), l.inTime(time.Now()))
	}
	return tw.Flush()
}
