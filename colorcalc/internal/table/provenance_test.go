package table

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Every table that the colour room carries says in its first line which standard
// in which edition its numbers come from, and the list beside it says how they
// came here, under what licence, and what a person has to clear.
func TestEveryTableSaysWhereItComesFrom(t *testing.T) {
	edition := regexp.MustCompile(`; [^;]*\b(19|20)\d\d\b[^;]*$`)
	tables := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".csv" || strings.Contains(filepath.ToSlash(path), "/testdata/") {
			return err
		}
		tables++
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		first, _, _ := strings.Cut(string(text), "\n")
		if !strings.HasPrefix(first, "# ") || !edition.MatchString(first) {
			t.Errorf("%s: the first line names no source with its year: %q", path, first)
		}
		list, err := os.ReadFile(filepath.Join(filepath.Dir(path), "README.md"))
		if err != nil {
			t.Errorf("%s: no README.md beside it says how it came here: %v", path, err)
			return nil
		}
		if !strings.Contains(string(list), "`"+d.Name()+"`") {
			t.Errorf("%s is not in the README.md beside it", path)
		}
		if _, clear, _ := strings.Cut(string(list), "\n## Before this is published\n"); !strings.Contains(clear, "`"+d.Name()+"`") {
			t.Errorf("%s: the README.md beside it does not say under what licence it was read, and what is to be cleared before it is published", path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if tables == 0 {
		t.Fatal("no table found: the test has lost what it watches")
	}
}
