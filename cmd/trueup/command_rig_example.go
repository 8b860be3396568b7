package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"trueup/examples"
	"trueup/loop/session/rig"
	"trueup/profiles/yamlfile"
)

// exampleRigs are the folders of examples that hold a rig, and what each shows.
var exampleRigs = [][2]string{
	{"demo", "nine fixtures of a museum corner, matched to a fixture that cannot be changed"},
	{"beside-a-desk", "two fixtures laid over a desk's stream, small enough to try in a minute"},
	{"led-wall", "twelve equal panels in a grid, to one white"},
	{"theatre-cyc", "battens, ground rows and a pixel bar beside a desk (overlay)"},
	{"camera-match", "fixtures that are to look like tungsten to a camera, read by a spectrometer"},
	{"interview", "two fixtures with knobs and a meter without a data link"},
}

func newRigCopyExampleCommand() *cobra.Command {
	names, words := []string{}, ""
	for _, e := range exampleRigs {
		names = append(names, e[0])
		words += fmt.Sprintf("  %-14s %s\n", e[0], e[1])
	}
	return &cobra.Command{
		Use:   "copy-example NAME [FOLDER]",
		Short: "Copy an example rig with its profiles into a folder of its own",
		Long: `Copy an example rig with all that it needs into FOLDER (default: NAME): the rig, the stage file that the simulated stage
reads, and the profiles. Nothing else is read from elsewhere, so the folder can be moved and changed. The examples:
` + words + `
An existing file is never overwritten.

Exit codes: 0 copied; 1 a file could not be written; 2 wrong command line, or no such example.`,
		Args:      cobra.RangeArgs(1, 2),
		ValidArgs: names,
		RunE: func(c *cobra.Command, args []string) error {
			to := args[len(args)-1]
			known := false
			for _, n := range names {
				known = known || n == args[0]
			}
			if !known {
				hint := ""
				if near := yamlfile.Nearest(args[0], names); near != "" {
					hint = "; did you mean " + near + "?"
				}
				return usageError("there is no example %q: want one of %s%s", args[0], strings.Join(names, ", "), hint)
			}
			if err := copyExample(args[0], to); err != nil {
				return err
			}
			file := filepath.Join(to, "rig.yaml")
			r, err := rig.Load(file)
			if err != nil {
				return err
			}
			desk := ""
			if r.Output.Mode == rig.Overlay { // it needs a desk below it
				desk = " --desk"
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: the example %s, with its profiles beside it\ntry it: trueup stage %s%s\n", file, args[0], typed(file), desk)
			return nil
		},
	}
}

// sharedProfile is a profile of the folder that the examples share, as a rig
// or a profile names it, or a spectrum that a profile names.
var sharedProfile = regexp.MustCompile(`\.\./profiles/([\w-]+\.yaml)`)
var sharedCamera = regexp.MustCompile(`\.\./cameras/([\w-]+\.csv)`)
var spectrumFile = regexp.MustCompile(`\b([\w-]+\.csv)\b`)

func copyExample(name, to string) error {
	if err := os.MkdirAll(filepath.Join(to, "profiles"), 0o755); err != nil {
		return err
	}
	var wanted []string
	err := fs.WalkDir(examples.Files, name, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(p) != ".yaml" {
			return err
		}
		text, err := examples.Files.ReadFile(p)
		if err != nil {
			return err
		}
		for _, m := range sharedProfile.FindAllSubmatch(text, -1) {
			wanted = append(wanted, string(m[1]))
		}
		for _, m := range sharedCamera.FindAllSubmatch(text, -1) {
			if err := copyCamera(string(m[1]), to); err != nil {
				return err
			}
		}
		text = bytes.ReplaceAll(text, []byte("../profiles/"), []byte("profiles/"))
		text = bytes.ReplaceAll(text, []byte("../cameras/"), []byte("cameras/"))
		return writeNew(filepath.Join(to, path.Base(p)), text)
	})
	done := map[string]bool{}
	for len(wanted) > 0 && err == nil {
		file := wanted[0]
		if wanted = wanted[1:]; done[file] {
			continue
		}
		done[file] = true
		var text []byte
		if text, err = examples.Files.ReadFile("profiles/" + file); err != nil {
			return err
		}
		for _, m := range spectrumFile.FindAllSubmatch(text, -1) {
			if _, err := fs.Stat(examples.Files, "profiles/"+string(m[1])); err == nil {
				wanted = append(wanted, string(m[1]))
			}
		}
		err = writeNew(filepath.Join(to, "profiles", file), text)
	}
	return err
}

// copyCamera copies the sensitivities of a camera that an example names.
func copyCamera(file, to string) error {
	text, err := examples.Files.ReadFile("cameras/" + file)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(to, "cameras"), 0o755); err != nil {
		return err
	}
	return writeNew(filepath.Join(to, "cameras", file), text)
}
