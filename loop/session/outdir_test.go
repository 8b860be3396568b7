package session

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A second run in the same minute gets a folder of its own, and a hostile rig
// name stays inside the root.
func TestEveryRunHasItsOwnFolder(t *testing.T) {
	root := t.TempDir()
	now := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	seen := map[string]bool{}
	for _, name := range []string{"Museum corner", "Museum corner", "../../etc/passwd", "///", ""} {
		dir, err := MakeOutDir(root, name, now)
		if err != nil {
			t.Fatal(err)
		}
		if seen[dir] {
			t.Errorf("%s used twice", dir)
		}
		seen[dir] = true
		if filepath.Dir(dir) != root {
			t.Errorf("%q led to %s", name, dir)
		}
		if _, err := os.Stat(dir); err != nil {
			t.Error(err)
		}
	}
	if !seen[filepath.Join(root, "2026-03-04-0506-museum-corner-2")] {
		t.Errorf("no numbered folder among %v", seen)
	}
}
