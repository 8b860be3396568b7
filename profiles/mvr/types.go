package mvr

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"trueup/profiles/archive"
	"trueup/profiles/gdtf"
	"trueup/profiles/xmltree"
	"trueup/profiles/yamlfile"
)

// draftTypes reads each GDTF file once and drafts the modes that fixtures name.
// What is wrong with a file is said of its types; only a plan that goes beyond
// the bounds of the whole is an error.
func (s *scene) draftTypes(a *archive.Archive, r io.ReaderAt, budget *archive.Budget) error {
	var buf bytes.Buffer // one for all: a deflated GDTF file at a time
	done := map[string]bool{}
	for i := range s.plan.Types {
		spec := s.plan.Types[i].Spec
		if done[spec] {
			continue
		}
		done[spec] = true
		d, file, note, err := describe(a, r, spec, &buf, budget)
		if errors.Is(err, archive.ErrSpent) {
			return err
		}
		for j := i; j < len(s.plan.Types); j++ {
			t := &s.plan.Types[j]
			if t.Spec != spec {
				continue
			}
			if note != "" {
				t.Notes = append(t.Notes, note)
			}
			t.file = file
			if err == nil {
				t.draft(d)
			} else {
				t.Problem = err.Error()
			}
		}
	}
	s.merge()
	for i := range s.plan.Types {
		t := &s.plan.Types[i]
		t.Spec, t.Mode = clean(t.Spec), clean(t.Mode)
	}
	return nil
}

// merge gives fixtures one type where a plan writes the name of one file or mode
// in several ways.
func (s *scene) merge() {
	first := map[[2]string]int{}
	same := map[int]int{}
	for i := range s.plan.Types {
		t := &s.plan.Types[i]
		if t.Draft == nil {
			continue
		}
		at := [2]string{t.file, t.Mode}
		if j, ok := first[at]; ok {
			same[i], t.Draft, t.Problem = j, nil, "the same as another type"
			continue
		}
		first[at] = i
	}
	for i := range s.plan.Fixtures {
		f := &s.plan.Fixtures[i]
		if j, ok := same[f.Type]; ok {
			for _, n := range s.plan.Types[f.Type].Notes {
				f.note("%s", n)
			}
			f.Type = j
		}
	}
}

// describe finds and reads a GDTF file; spec is its name without .gdtf.
func describe(a *archive.Archive, r io.ReaderAt, spec string, buf *bytes.Buffer, budget *archive.Budget) (d *gdtf.Description, name, note string, err error) {
	shown := clean(spec)
	switch {
	case spec == "":
		return nil, "", "", errors.New("the plan names no GDTF file")
	case strings.ContainsAny(spec, `/\`):
		return nil, "", "", fmt.Errorf("the plan names %q: a path, and GDTF files lie in the plan's root", shown)
	}
	name = spec + extension
	if !a.Has(name) && a.Has(spec) {
		name = spec
	}
	if !a.Has(name) {
		if name = a.Fold(spec + extension); name == "" {
			return nil, "", "", fmt.Errorf("the GDTF file %q is not in the plan", shown)
		}
		note = fmt.Sprintf("GUESS: the plan names %q, and the file is called %q", shown, xmltree.Clip(name))
	}
	inner, size, err := a.Inner(r, name, maxInner, buf)
	if err != nil {
		return nil, "", "", fmt.Errorf("the GDTF file can not be read: %w", err)
	}
	d, err = gdtf.ReadDescription(inner, size, budget)
	if err != nil {
		return nil, "", "", fmt.Errorf("the GDTF file %q can not be read: %w", shown, err)
	}
	return d, name, note, nil
}

// draft makes a profile of the type's mode, or says why there is none.
func (t *Type) draft(d *gdtf.Description) {
	if err := t.try(d); err != nil {
		t.Draft, t.Problem = nil, err.Error()
	}
}

func (t *Type) try(d *gdtf.Description) error {
	modes := d.Modes()
	i := slices.IndexFunc(modes, func(m string) bool { return strings.TrimSpace(m) == t.Mode })
	if i < 0 && t.Mode == "" && len(modes) == 1 {
		i = 0
		t.Notes = append(t.Notes, fmt.Sprintf("GUESS: the plan names no mode; the GDTF file's only one, %q, is taken", clean(modes[0])))
	}
	if i < 0 {
		return noMode(t.Mode, modes)
	}
	ft, err := d.Mode(modes[i])
	if err != nil {
		return fmt.Errorf("the GDTF file can not be used: %w", err)
	}
	t.Mode = strings.TrimSpace(modes[i])
	t.Maker, t.Name, t.Footprint = clean(ft.Manufacturer), clean(ft.Name), ft.Modes[0].Footprint
	t.Draft, err = ft.Draft()
	return err
}

// noMode says which modes there are.
func noMode(mode string, modes []string) error {
	var names []string
	for _, m := range modes[:min(len(modes), 12)] {
		names = append(names, clean(m))
	}
	if len(modes) > len(names) {
		names = append(names, "…")
	}
	if mode == "" {
		return fmt.Errorf("the plan names no mode; the GDTF file has %s", strings.Join(names, ", "))
	}
	hint := "it has " + strings.Join(names, ", ")
	if near := yamlfile.Nearest(mode, modes); near != "" {
		hint = fmt.Sprintf("perhaps %q is meant", clean(near))
	}
	return fmt.Errorf("the GDTF file has no mode %q; %s", clean(mode), hint)
}
