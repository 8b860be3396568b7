package gellist

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"trueup/profiles/yamlfile"
)

// The list among the examples can be used, and what is wrong with a list is found at once, each fault in its place.
func TestAListIsReadOrItsFaultsAreTold(t *testing.T) {
	list, err := Load("../../examples/gels/gels.yaml")
	if err != nil || len(list) == 0 {
		t.Fatalf("%d filters, %v", len(list), err)
	}
	path := filepath.Join(t.TempDir(), "l.yaml")
	text := "gels:\n  - {name: a, mired: 10}\n  - {name: a, mired: warm}\n  - {name: b, spectrum: none.csv}\n  - {name: c}\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err = Load(path)
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 4 {
		t.Fatalf("%v", err)
	}
	for i, line := range []int{3, 3, 4, 5} {
		if all[i].Line != line || all[i].Col == 0 {
			t.Errorf("fault %d at %d:%d, want line %d: %v", i, all[i].Line, all[i].Col, line, all[i])
		}
	}
}

// No text of a list does harm, and a filter that is taken is one that can be used.
func FuzzList(f *testing.F) {
	f.Add("gels:\n  - {name: amber, mired: 112, duv: 0.001, transmission: 0.55}\n")
	f.Add("gels:\n  - {name: own, spectrum: l.yaml}\n") // the list itself is no spectrum
	f.Add("gels: [{name: x, spectrum: /dev/zero}]\n")   // no regular file
	path := filepath.Join(f.TempDir(), "l.yaml")
	f.Fuzz(func(t *testing.T, text string) {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		list, err := Load(path)
		for _, g := range list {
			if err == nil && g.Check() != nil {
				t.Errorf("%+v was taken", g)
			}
		}
	})
}
