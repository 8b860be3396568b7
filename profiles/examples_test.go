package profiles

import (
	"path/filepath"
	"testing"
)

// examplePaths lists the example profiles; an empty folder is a failure.
func examplePaths(t testing.TB) []string {
	t.Helper()
	paths, err := filepath.Glob("../examples/profiles/*.yaml")
	if err != nil || len(paths) < 7 {
		t.Fatalf("only %d example profiles found (%v)", len(paths), err)
	}
	return append(paths, "../examples/reference-profile.yaml")
}

func TestEveryExampleIsAccepted(t *testing.T) {
	for _, path := range examplePaths(t) {
		p, err := Load(path)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		for _, m := range p.Modes {
			if left := m.Unnamed(); len(left) > 0 {
				t.Errorf("%s, mode %q: nothing is said of slots %v", path, m.Name, left)
			}
		}
	}
}
