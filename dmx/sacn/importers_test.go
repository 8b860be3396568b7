package sacn

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The library does not check what it reads: only the one file behind our gate
// may give it bytes.
func TestTheLibraryIsCalledFromOneFileOnly(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	var importers []string
	files := 0
	err = filepath.WalkDir(root, func(p string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || p != root && strings.HasPrefix(d.Name(), ".")) {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return nil // a file that somebody is writing; the compiler will say so
		}
		files++
		for _, i := range f.Imports {
			if path, _ := strconv.Unquote(i.Path.Value); strings.HasPrefix(path, "github.com/Hundemeier/go-sacn") {
				rel, _ := filepath.Rel(root, p)
				importers = append(importers, filepath.ToSlash(rel))
			}
		}
		return nil
	})
	if err != nil || files < 20 {
		t.Fatal(files, err)
	}
	if len(importers) != 1 || importers[0] != "dmx/sacn/decode.go" {
		t.Errorf("imported by %v", importers)
	}
}
