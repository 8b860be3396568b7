package main

import (
	"bytes"
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const thirdPartyFile = "THIRD_PARTY.txt"

// Whoever passes the program on passes on the licences of all that is in it, on
// every system that it is built for. The list is made by this test:
//
//	TRUEUP_LICENCES=write go test ./cmd/trueup -run ThirdParty
func TestThirdPartyListIsWhole(t *testing.T) {
	root := moduleRoot(t)
	want := thirdParty(t, builtIn(t, root))
	path := filepath.Join(root, thirdPartyFile)
	if os.Getenv("TRUEUP_LICENCES") == "write" {
		if err := os.WriteFile(path, want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(have, want) {
		t.Errorf("%s is not what the modules in the program say (%v); make it anew: TRUEUP_LICENCES=write go test ./cmd/trueup -run ThirdParty", thirdPartyFile, err)
	}
}

// component is a module of the program, and the folders of it that are in.
type component struct {
	name, version, dir string
	folders            []string
}

// builtIn lists the modules of the program on all systems that .ci/run builds it
// for, and the language's own library.
func builtIn(t *testing.T, root string) []component {
	t.Helper()
	byName := map[string]*component{}
	for _, os := range []string{"linux", "windows", "darwin"} {
		out := tool(t, root, []string{"GOOS=" + os, "CGO_ENABLED=0"}, "go", "list", "-deps",
			"-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}\t{{$.Dir}}{{end}}{{end}}", "./cmd/trueup")
		for line := range strings.Lines(out) {
			f := strings.Split(strings.TrimSpace(line), "\t")
			if len(f) != 4 {
				continue
			}
			if byName[f[0]] == nil {
				byName[f[0]] = &component{name: f[0], version: f[1], dir: f[2]}
			}
			byName[f[0]].folders = append(byName[f[0]].folders, f[3])
		}
	}
	all := []component{{name: "the Go standard library", version: "as the build used it", dir: strings.TrimSpace(tool(t, root, nil, "go", "env", "GOROOT"))}}
	for _, c := range byName {
		all = append(all, *c)
	}
	slices.SortFunc(all, func(a, b component) int { return cmp.Compare(a.name, b.name) })
	return all
}

func tool(t *testing.T, dir string, env []string, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), env...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v", name, strings.Join(args, " "), err)
	}
	return string(out)
}

// licenceKinds tells a licence by words that only it has. A text that is none of
// these is a person's to read before the module is used.
var licenceKinds = []struct{ kind, words string }{
	{"Apache-2.0", "Apache License Version 2.0"},
	{"EPL-2.0", "Eclipse Public License - v 2.0"},
	{"EDL-1.0 (BSD-3-Clause)", "Eclipse Distribution License - v 1.0"},
	{"OFL-1.1", "SIL OPEN FONT LICENSE Version 1.1"},
	{"FTL or GPL, as the user chooses", "your choice of exactly one of the following two licenses"},
	{"FTL", "The FreeType Project LICENSE"},
	{"CC-BY-4.0", "Creative Commons Attribution 4.0 International Public License"},
	{"CC-BY-4.0 (a reference to it)", "creativecommons.org/licenses/by/4.0"},
	{"public domain", "has been dedicated to the public domain by the authors"},
	{"patent grant", "Additional IP Rights Grant (Patents)"},
	{"BSD-3-Clause", "Neither the name of"},
	{"BSD-2-Clause", "Redistribution and use in source and binary forms"},
	{"MIT", "Permission is hereby granted, free of charge"},
}

var licenceNames = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents|edl-|ofl|ftl)`)

// licences finds the texts of a component: in its own folder, in those between it
// and a folder that is in the program, and in a folder "licenses" beside them.
// A choice between two licences is made here: the FreeType licence. A picture of a
// module's own page is not in the program.
func licences(t *testing.T, c component) (files []string) {
	t.Helper()
	look := map[string]bool{c.dir: true, filepath.Join(c.dir, "licenses"): true}
	for _, folder := range c.folders {
		for d := folder; len(d) > len(c.dir); d = filepath.Dir(d) {
			look[d] = true
		}
	}
	for dir := range look {
		entries, _ := os.ReadDir(dir) // "licenses" need not be there
		for _, e := range entries {
			if e.Type().IsRegular() && licenceNames.MatchString(e.Name()) && filepath.Ext(e.Name()) != ".go" && e.Name() != "gpl.txt" && e.Name() != "LICENSE-LOGO" {
				files = append(files, filepath.Join(dir, e.Name()))
			}
		}
	}
	if len(files) == 0 {
		t.Errorf("%s has no licence", c.name)
	}
	slices.Sort(files)
	return files
}

// thirdParty writes the list, and every text once.
func thirdParty(t *testing.T, all []component) []byte {
	t.Helper()
	var list, texts strings.Builder
	number := map[string]int{} // of a text, its spaces and line ends made one
	for _, c := range all {
		var kinds []string
		for _, path := range licences(t, c) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			flat := strings.Join(strings.Fields(string(data)), " ")
			if number[flat] == 0 {
				number[flat] = len(number) + 1
				fmt.Fprintf(&texts, "\n%s\nText %d: %s of %s\n\n%s\n", strings.Repeat("=", 80), number[flat], filepath.Base(path), c.name,
					strings.TrimRight(strings.ReplaceAll(string(data), "\r\n", "\n"), " \n"))
			}
			kinds = append(kinds, fmt.Sprintf("%s, text %d", licenceKind(t, path, flat), number[flat]))
		}
		fmt.Fprintf(&list, "%s %s\n    %s\n", c.name, c.version, strings.Join(kinds, "; "))
	}
	return []byte(`The software of others that is part of the program trueup, and its licences.

Made by a test of cmd/trueup from the modules that are built in; do not edit.
What only the tests use is not part of the program, and not listed.
The fonts in it (Liberation, under the OFL) are used as their authors made them.

` + list.String() + texts.String())
}

func licenceKind(t *testing.T, path, flat string) string {
	t.Helper()
	if strings.HasPrefix(filepath.Base(path), "NOTICE") {
		return "notice"
	}
	if strings.Contains(filepath.Base(path), "3RD-PARTY") {
		return "licences of what it holds of others"
	}
	for _, k := range licenceKinds {
		if strings.Contains(flat, k.words) {
			return k.kind
		}
	}
	t.Errorf("%s: this licence is not known here; read whether the program may carry it", path)
	return "not known"
}
