package rig

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// exampleRigs finds every rig file of the examples.
func exampleRigs(t testing.TB) []string {
	t.Helper()
	var found []string
	err := filepath.WalkDir("../../../examples", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && (d.Name() == "rig.yaml" || strings.HasSuffix(d.Name(), "-rig.yaml")) {
			found = append(found, p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(found) < 4 {
		t.Fatalf("only %v are there", found)
	}
	return found
}

// Every example rig is one that can be run as it stands, and one that an
// editor with our schema does not complain about.
func TestExamplesAreGoodRigs(t *testing.T) {
	schema := compileSchema(t)
	for _, path := range exampleRigs(t) {
		r, err := Load(path)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		checkPromises(t, r)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := validate(t, schema, string(text)); err != nil {
			t.Errorf("%s: %v", path, err)
		}
		if n := len(PatchSheet(r)); n != len(r.Fixtures) {
			t.Errorf("%s: %d rows for %d fixtures", path, n, len(r.Fixtures))
		}
	}
}

// The reference rig shows every key that the schema knows.
func TestTheReferenceShowsEveryKey(t *testing.T) {
	text := readFile(t, "../../../examples/reference-rig.yaml")
	shown := map[string]bool{}
	for _, p := range pairs(text) {
		shown[p.key] = true
	}
	shown["reference"] = strings.Contains(text, "# reference:") // a target has one of two
	shown["moving_reference"] = strings.Contains(text, "# moving_reference:")
	shown["dead_man"] = true // the earlier name of watchdog
	var walk func(s map[string]any)
	walk = func(s map[string]any) {
		props, _ := s["properties"].(map[string]any)
		for key, p := range props {
			if !shown[key] {
				t.Errorf("%s is missing", key)
			}
			m := p.(map[string]any)
			walk(m)
			if items, ok := m["items"].(map[string]any); ok {
				walk(items)
			}
		}
	}
	walk(Schema())
}
