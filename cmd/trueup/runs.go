package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/userfile"
)

// oneRun wants one folder of a run.
func oneRun(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usageError("%s wants one run: its folder or its journal (see '%s --help')", c.Name(), c.CommandPath())
	}
	return nil
}

// pastRun is an earlier run: its folder, and its journal, read once.
type pastRun struct {
	dir     string
	entries []session.Entry
	sum     *session.Summary
}

// readPast reads an earlier run by its folder or its journal. What is known of it by an error is its folder.
func readPast(path string) (*pastRun, error) {
	dir, f, err := openRun(path)
	p := &pastRun{dir: dir}
	if err != nil {
		return p, err
	}
	defer f.Close()
	torn := false
	if p.entries, torn, err = session.ReadJournal(f); err == nil {
		p.sum, err = session.Summarise(p.entries)
	}
	if err != nil {
		return p, fmt.Errorf("run %s: %w", dir, err)
	}
	p.sum.Torn = torn
	return p, nil
}

// learnt plays the run again, so that it knows of each lamp what the run had learnt at its end.
func (p *pastRun) learnt() (*core.Core, error) {
	learnt, err := core.Replay(p.entries)
	if err != nil {
		return nil, fmt.Errorf("what the run %s learnt can not be had back: %w; match the rig again with this version", p.dir, err)
	}
	return learnt, nil
}

// readRun reads the summary of an earlier run by its folder or its journal, and says which folder it is.
func readRun(path string) (dir string, s *session.Summary, err error) {
	p, err := readPast(path)
	return p.dir, p.sum, err
}

// readLook reads the run that a person named, where it has left a look.
func readLook(root, name string) (dir string, s *session.Summary, err error) {
	p, err := pastLook(root, name)
	if err != nil {
		return "", nil, err
	}
	return p.dir, p.sum, nil
}

// pastLook is the run that a person named, where it has left a look.
func pastLook(root, name string) (*pastRun, error) {
	dir, err := runFolder(root, name)
	if err != nil {
		return nil, err
	}
	p, err := readPast(dir)
	if err != nil {
		return nil, err
	}
	return p, noPalette(p.dir, p.sum)
}

// openRun opens the journal of an earlier run by its folder or by itself, and says which folder it is.
func openRun(path string) (dir string, f io.ReadCloser, err error) {
	dir = path
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		dir = filepath.Dir(path)
	} else {
		path = filepath.Join(path, session.JournalName)
	}
	f, err = userfile.Open(path, userfile.Journal)
	var missing *userfile.NotThere
	if errors.As(err, &missing) {
		return dir, nil, fmt.Errorf("%s is no folder of a run: it holds no %s", dir, session.JournalName)
	}
	if err != nil {
		return dir, nil, fmt.Errorf("run %s: %w", dir, err)
	}
	return dir, f, nil
}

// previousRun reads the summary of an earlier run of a rig and says which folder it is: see [pastOf].
func previousRun(root, rigName, dir string) (string, *session.Summary, error) {
	p, err := pastOf(root, rigName, dir)
	if err != nil {
		return "", nil, err
	}
	return p.dir, p.sum, nil
}

// pastOf is an earlier run of a rig that has left a look: the named one, or the newest.
func pastOf(root, rigName, name string) (*pastRun, error) {
	if name == "" {
		newest, err := session.NewestRun(root, rigName)
		if err != nil {
			return nil, err
		}
		name = newest
	}
	p, err := pastLook(root, name)
	if err != nil {
		return nil, err
	}
	if !strings.EqualFold(p.sum.Info.Rig, rigName) {
		return nil, fmt.Errorf("earlier run %s is of the rig %q, not of %q", p.dir, p.sum.Info.Rig, rigName)
	}
	return p, nil
}

// noPalette refuses a run that read settings of a palette: each fixture stood at one colour after the other, and there is no look.
func noPalette(dir string, s *session.Summary) error {
	if s.Info.Work != string(core.Palette) {
		return nil
	}
	return fmt.Errorf("%s read settings of a palette and left no look; they stand in palette.csv of the match that they were predicted from", dir)
}

// runFolder is the folder of a run that a person named: a path, its journal, or a name below
// the folder of all runs.
func runFolder(root, name string) (string, error) {
	if i, err := os.Stat(name); err == nil && i.Mode().IsRegular() && filepath.Base(name) == session.JournalName {
		return filepath.Dir(name), nil
	}
	for _, dir := range []string{name, filepath.Join(root, name)} {
		if i, err := os.Stat(filepath.Join(dir, session.JournalName)); err == nil && i.Mode().IsRegular() {
			return dir, nil
		}
	}
	return "", fmt.Errorf("%s is no folder of a run: it holds no %s, nor does %s%s", name, session.JournalName, filepath.Join(root, name), newestRuns(root))
}

// newestRuns names the newest runs in the folder of all runs, for somebody who has named none of them.
func newestRuns(root string) string {
	entries, err := os.ReadDir(root)
	if err != nil {
		return "; there are no runs in " + root
	}
	var names []string
	for _, e := range slices.Backward(entries) {
		if i, err := os.Stat(filepath.Join(root, e.Name(), session.JournalName)); err == nil && i.Mode().IsRegular() {
			names = append(names, e.Name())
		}
		if len(names) == 3 {
			break
		}
	}
	if len(names) == 0 {
		return "; there are no runs in " + root
	}
	return fmt.Sprintf("; the newest in %s: %s", root, strings.Join(names, ", "))
}

// rigFileOf finds the rig file of an earlier run: where a person says, where it was, or by
// its name here.
func rigFileOf(said, was, name string) (string, error) {
	if said != "" {
		return said, nil
	}
	for _, path := range []string{was, filepath.Base(name)} {
		if path == "" {
			continue
		}
		if i, err := os.Stat(path); err == nil && i.Mode().IsRegular() {
			return path, nil
		}
	}
	return "", fmt.Errorf("the rig file of the run (%s) is not where it was; say where it is with --rig", name)
}
