package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// What has a longer form is named in .ci/run, which plays only that again, and nothing else is.
func TestEveryLongFormIsPlayed(t *testing.T) {
	named := namedIn(t, "longer")
	for name := range longForms(t) {
		if !named[name] {
			t.Errorf("%s has a longer form that .ci/run never plays: name it there", name)
		}
		delete(named, name)
	}
	for name := range named {
		t.Errorf(".ci/run names %s, which has no longer form", name)
	}
}

// Rooms that .ci/run keeps from the race detector start no goroutine, in no test either; and what it plays with it
// in rooms that are tested by many runs at once is there.
func TestTheRaceDetectorSeesAllThatCanRace(t *testing.T) {
	atonce := namedIn(t, "atonce")
	m := regexp.MustCompile(`(?m)^alone='(.*)'$`).FindSubmatch(ciRun(t))
	if m == nil {
		t.Fatal("no rooms that are played alone")
	}
	alone, starts := strings.Fields(string(m[1])), map[string]bool{"Go": true, "Parallel": true, "RunParallel": true, "AfterFunc": true}
	seen := map[string]bool{}
	for _, s := range sources(t) {
		for _, d := range s.file.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && s.test {
				delete(atonce, fn.Name.Name)
			}
		}
		for _, room := range alone {
			if !inside(s.path, room) {
				continue
			}
			seen[room] = true
			ast.Inspect(s.file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.GoStmt:
					t.Errorf("%s starts a goroutine: .ci/run has to play it with the race detector", s.path)
				case *ast.SelectorExpr:
					if starts[n.Sel.Name] {
						t.Errorf("%s uses %s: .ci/run has to play it with the race detector", s.path, n.Sel.Name)
					}
				}
				return true
			})
		}
	}
	for name := range atonce {
		t.Errorf(".ci/run plays %s with the race detector, and there is none", name)
	}
	for _, room := range alone {
		if !seen[room] {
			t.Errorf(".ci/run keeps %s from the race detector, and there is none", room)
		}
	}
}

func ciRun(t *testing.T) []byte {
	t.Helper()
	script, err := os.ReadFile(filepath.Join(moduleRoot(t), ".ci", "run"))
	if err != nil {
		t.Fatal(err)
	}
	return script
}

// namedIn are the tests that a list of .ci/run names.
func namedIn(t *testing.T, list string) map[string]bool {
	t.Helper()
	named := map[string]bool{}
	for _, line := range regexp.MustCompile(`(?m)^`+list+`\+?='(.*)'$`).FindAllStringSubmatch(string(ciRun(t)), -1) {
		for _, name := range regexp.MustCompile(`Test\w+`).FindAllString(line[1], -1) {
			named[name] = true
		}
	}
	if len(named) == 0 {
		t.Fatalf(".ci/run names no test in %s", list)
	}
	return named
}

// functionsOf are the functions and methods of a file of source.
func functionsOf(t *testing.T, path string) (all []*ast.FuncDecl) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range f.Decls {
		if fn, ok := d.(*ast.FuncDecl); ok {
			all = append(all, fn)
		}
	}
	return all
}

// longForms are the tests of all rooms that ask for the long form, by themselves or by functions of their room that they call.
func longForms(t *testing.T) map[string]bool {
	t.Helper()
	asks, calls := map[string]map[string]bool{}, map[string]map[string][]string{} // by room
	for _, s := range sources(t) {
		if !s.test {
			continue
		}
		room := filepath.Dir(s.path)
		if asks[room] == nil {
			asks[room], calls[room] = map[string]bool{}, map[string][]string{}
		}
		for _, d := range s.file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			ast.Inspect(fn, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.BasicLit:
					if n.Value == `"TRUEUP_LONG"` {
						asks[room][fn.Name.Name] = true
					}
				case *ast.Ident:
					calls[room][fn.Name.Name] = append(calls[room][fn.Name.Name], n.Name)
				}
				return true
			})
		}
	}
	all := map[string]bool{}
	for room, asking := range asks {
		for more := true; more; {
			more = false
			for name, called := range calls[room] {
				if !asking[name] && slices.ContainsFunc(called, func(c string) bool { return asking[c] }) {
					asking[name], more = true, true
				}
			}
		}
		for name := range asking {
			if strings.HasPrefix(name, "Test") {
				all[name] = true
			}
		}
	}
	return all
}
