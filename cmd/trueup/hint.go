package main

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// hintFor says what to do about a file that is not there: which one beside it may have
// been meant, or else how to come by one; and about one that is of another kind. Nothing of any other error.
func hintFor(err error) string {
	var located yamlfile.Errors
	if errors.As(err, &located) {
		return otherKind(located)
	}
	var e *userfile.NotThere
	if !errors.As(err, &e) {
		return ""
	}
	if near := nearFile(e.Path, e.Kind); near != "" {
		return "did you mean " + near + "?"
	}
	switch e.Kind {
	case userfile.Rig, userfile.RigOrMeter:
		return "trueup start leads to a rig file, trueup rig copy-example brings one to try"
	case userfile.Profile:
		return "trueup profile new asks for one, trueup profile draft makes one from GDTF, trueup rig copy-example brings some"
	case userfile.Recording:
		return "trueup feed record makes one"
	case userfile.GelList:
		return "trueup gel --help shows what a list looks like; without --list a usual series stands in"
	}
	return ""
}

// kinds of file that are taken for one another, by the key that each begins with.
var kinds = []struct{ key, is, command string }{
	{"rig", "a rig", "trueup check"}, {"profile", "a profile", "trueup profile check"}, {"instrument", "the description of an instrument", "trueup feed try"},
}

// otherKind says of a file that lacks the key of its kind, and has that of another, what it is and who looks it through.
func otherKind(all yamlfile.Errors) string {
	for _, e := range all {
		for _, wanted := range kinds {
			if e.Missing != "$."+wanted.key {
				continue
			}
			data, err := userfile.Read(e.File, userfile.RigOrMeter)
			if err != nil {
				return ""
			}
			doc, _ := yamlfile.Decode(e.File, data, &struct{}{}) // only its keys are asked for
			for _, k := range kinds {
				if doc != nil && doc.Has("$."+k.key) {
					return e.File + " is " + k.is + ". To look it through: " + k.command + " " + typed(e.File)
				}
			}
		}
	}
	return ""
}

// inYAML are the kinds of file that commands are given by name and that are written in YAML.
var inYAML = []userfile.Kind{userfile.Rig, userfile.RigOrMeter, userfile.Profile, userfile.Instrument, userfile.Stage}

// isYAML tells whether a name ends as that of a YAML file does.
func isYAML(name string) bool { return slices.Contains([]string{".yaml", ".yml"}, filepath.Ext(name)) }

// manyFiles bounds the look into a folder; a folder of more is not searched.
const manyFiles = 1000

// nearFile finds a file in the folder of a mistyped path that it most likely means. Of what is written in YAML, none that ends otherwise.
func nearFile(path string, kind userfile.Kind) string {
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(entries) > manyFiles {
		return ""
	}
	// By the name before the dot: all of a kind end alike, which makes nothing near.
	stem := func(path string) string { return strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)) }
	var names []string
	whole := map[string]string{}
	for _, e := range entries {
		if e.Type().IsRegular() && (!slices.Contains(inYAML, kind) || isYAML(e.Name())) {
			names = append(names, stem(e.Name()))
			whole[stem(e.Name())] = e.Name()
		}
	}
	if near := yamlfile.Nearest(stem(path), names); near != "" {
		return filepath.Join(filepath.Dir(path), whole[near])
	}
	return ""
}
