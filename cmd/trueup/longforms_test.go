package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// What has a longer form here is named in .ci/run, which plays only that again, and nothing else is.
func TestEveryLongFormIsPlayed(t *testing.T) {
	script, err := os.ReadFile(filepath.Join(moduleRoot(t), ".ci", "run"))
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for _, line := range regexp.MustCompile(`(?m)^longer\+?='(.*)'$`).FindAllStringSubmatch(string(script), -1) {
		for _, name := range regexp.MustCompile(`Test\w+`).FindAllString(line[1], -1) {
			named[name] = true
		}
	}
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

// longForms are the tests of this folder that ask for the long form, by themselves or by a function that they call.
func longForms(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob("*_test.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	asks, calls := map[string]bool{}, map[string][]string{}
	for _, path := range files {
		for _, fn := range functionsOf(t, path) {
			if fn.Name.Name == "TestEveryLongFormIsPlayed" {
				continue
			}
			ast.Inspect(fn, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.BasicLit:
					if n.Value == `"TRUEUP_LONG"` {
						asks[fn.Name.Name] = true
					}
				case *ast.Ident:
					calls[fn.Name.Name] = append(calls[fn.Name.Name], n.Name)
				}
				return true
			})
		}
	}
	all := map[string]bool{}
	for name, called := range calls {
		long := asks[name]
		for _, c := range called {
			long = long || asks[c] && !strings.HasPrefix(c, "Test")
		}
		if long && strings.HasPrefix(name, "Test") {
			all[name] = true
		}
	}
	return all
}
