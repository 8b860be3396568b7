package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/dmx"
	"trueup/loop/session/rig"
	"trueup/profiles"
	"trueup/profiles/mvr"
	"trueup/profiles/yamlfile"
)

// absent refuses a path that is there already.
func absent(path string) error {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s exists already and is left as it is; name another file", path)
	}
	return nil
}

func importPlan(c *cobra.Command, src string, o importOptions) error {
	if o.mapping != "" {
		return usageError("--map is for patch lists, and %s is a planned rig", src)
	}
	own, err := parseTypes(o.typed)
	if err != nil {
		return err
	}
	plan, err := mvr.Open(src, mvr.Options{UniverseOffset: o.offset})
	if err != nil {
		return err
	}
	stand, files, err := planProfiles(plan, own, o, src)
	if err != nil {
		return err
	}
	res := rig.FromPlan(o.name, plan, stand)
	w := c.OutOrStdout()
	if len(res.Draft.Fixtures) == 0 {
		showLeft(c.ErrOrStderr(), &res)
		return fmt.Errorf("%s: none of its %d fixtures can be in a rig; nothing is written", src, len(plan.Fixtures))
	}
	d := res.Draft
	d.Color = o.color
	d.Comment = []string{
		fmt.Sprintf("From %s (My Virtual Rig %s): what somebody planned, not what hangs there. Survey it.", filepath.Base(src), plan.Version),
		"Universe numbers are the planner's; trueup rig import --universe-offset N adds to them.",
	}
	if o.offset != 0 {
		d.Comment[1] = fmt.Sprintf("Universe numbers are the planner's, and %d.", o.offset)
	}
	d.End = res.Comments(plan.Notes)
	undo, err := files.write(w, d, filepath.Dir(o.out))
	if err == nil {
		showLeft(w, &res)
		showUniverses(w, d, o.offset)
		err = writeRig(c, d, o.out)
	}
	if _, missing := os.Lstat(o.out); err != nil && missing != nil {
		undo()
	}
	return err
}

// drafted are profiles in the making: file, as the rig names it -> type.
type drafted map[string]*mvr.Type

// planProfiles finds what stands for each type of the plan: a profile of the
// person's own, one that an earlier import left and somebody may have gone
// through, or a new draft.
func planProfiles(plan *mvr.Plan, own types, o importOptions, src string) ([]rig.PlanProfile, drafted, error) {
	stand := make([]rig.PlanProfile, len(plan.Types))
	files := drafted{}
	used := map[string]bool{}
	dir := filepath.Dir(o.out)
	for i := range plan.Types {
		t := &plan.Types[i]
		p := &stand[i]
		for from, file := range own {
			if strings.TrimSuffix(from, ".gdtf") != t.Spec {
				continue
			}
			used[from] = true
			if err := load(p, dir, file, t.Mode); err != nil {
				return nil, nil, fmt.Errorf("--profile %s=%s: %w", from, file, err)
			}
		}
		if p.Mode != nil {
			continue
		}
		p.Notes = t.Notes
		if p.Problem = t.Problem; t.Draft == nil {
			continue
		}
		file := free(path.Join(filepath.ToSlash(o.profiles), slug(t.Maker+" "+t.Name, "fixture")+"-"+slug(t.Mode, "mode")), files)
		files[file] = t
		if _, err := os.Lstat(beside(dir, file)); err == nil {
			if err := load(p, dir, file, t.Draft.Modes[0]); err != nil {
				return nil, nil, fmt.Errorf("%s is there already, and is not the profile of %s: %w; move it away, or name another folder with --profiles", file, t.Name, err)
			}
			files[file] = nil
			continue
		}
		parsed, err := profiles.Parse(file, t.Draft.YAML)
		if err != nil {
			return nil, nil, fmt.Errorf("the draft of %s: %w", t.Name, err)
		}
		p.File, p.Mode, p.ModeName = file, &parsed.Modes[0], t.Draft.Modes[0]
		if len(t.Draft.Modes) > 1 {
			p.Notes = append(p.Notes, fmt.Sprintf("GUESS: its mode has several ways to set colour, and the first is taken; there are %s", strings.Join(t.Draft.Modes, ", ")))
		}
	}
	for from, file := range own {
		if !used[from] {
			return nil, nil, usageError("--profile %s=%s: no fixture of %s names this GDTF file", from, file, src)
		}
	}
	return stand, files, nil
}

// load takes a profile that is there, and the mode of it that has the plan's
// name or is the only one.
func load(p *rig.PlanProfile, dir, file, mode string) error {
	have, err := profiles.Load(beside(dir, file))
	var faults yamlfile.Errors
	if errors.As(err, &faults) {
		return fmt.Errorf("%s (trueup profile check says all)", faults[0].Error()) // the caller says more than its place
	}
	if err != nil {
		return err
	}
	i := slices.IndexFunc(have.Modes, func(m profiles.Mode) bool { return m.Name == mode })
	if i < 0 && len(have.Modes) == 1 {
		i = 0
	}
	if i < 0 {
		return fmt.Errorf("it has no mode %q", mode)
	}
	p.File, p.Mode, p.ModeName = file, &have.Modes[i], have.Modes[i].Name
	return nil
}

// beside finds a file that a rig in dir names.
func beside(dir, file string) string {
	file = filepath.FromSlash(file)
	if filepath.IsAbs(file) {
		return file
	}
	return filepath.Join(dir, file)
}

// slug makes a part of a file name: small letters, digits and dashes.
func slug(text, none string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case b.Len() >= 40:
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s
	}
	return none
}

// free finds a file name that no other type has.
func free(name string, taken drafted) string {
	file := name + ".yaml"
	for n := 2; ; n++ {
		if _, ok := taken[file]; !ok {
			return file
		}
		file = fmt.Sprintf("%s-%d.yaml", name, n)
	}
}

// write writes the profiles that the rig names. undo takes those away again.
func (files drafted) write(w io.Writer, d rig.Draft, dir string) (undo func(), err error) {
	var written []string
	undo = func() {
		for _, path := range written {
			_ = os.Remove(path)
		}
	}
	done := map[string]bool{}
	for _, x := range d.Fixtures {
		t, ok := files[x.Profile]
		if !ok || done[x.Profile] {
			continue
		}
		done[x.Profile] = true
		if t == nil {
			fmt.Fprintf(w, "%s: there already, and used as it is\n", x.Profile)
			continue
		}
		path := beside(dir, x.Profile)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return undo, err
		}
		if err := writeNew(path, t.Draft.YAML); err != nil {
			return undo, err
		}
		written = append(written, path)
		fmt.Fprintf(w, "%s: a draft from %s.gdtf, mode %q; go through its comments with the manual\n", x.Profile, t.Spec, t.Mode)
	}
	return undo, nil
}

// writeNew writes a file that must not be there.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s exists already and is left as it is; name another file", path)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

// showLeft says what of the plan the rig does not have.
func showLeft(w io.Writer, res *rig.PlanResult) {
	const most = 20
	for i, l := range res.Left {
		if i == most {
			fmt.Fprintf(w, "not in the rig: %d more, each for a reason of its own\n", len(res.Left)-most)
			break
		}
		fmt.Fprintf(w, "not in the rig: %s\n", l.Summary())
	}
	if len(res.Left) > 0 && len(res.Draft.Fixtures) > 0 {
		fmt.Fprintln(w, "  (listed whole at the end of the rig file)")
	}
}

// showUniverses says which universes the rig is on, and whose numbers they are.
func showUniverses(w io.Writer, d rig.Draft, offset int) {
	var all []dmx.Universe
	for _, x := range d.Fixtures {
		if u := x.Address.Universe; u.Valid() && !slices.Contains(all, u) {
			all = append(all, u)
		}
	}
	slices.Sort(all)
	list := strings.Trim(strings.ReplaceAll(fmt.Sprint(all), " ", ", "), "[]")
	switch {
	case len(all) == 0:
	case offset != 0:
		fmt.Fprintf(w, "universes: %s, the planner's and %d\n", list, offset)
	default:
		fmt.Fprintf(w, "universes: %s, as the planner counts; where the network counts otherwise: --universe-offset N\n", list)
	}
}
