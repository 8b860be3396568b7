package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The scripts in testdata type what a user types. The test binary serves as
// the program itself, so the demo can start its stage as a second process.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"trueup": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

func TestScripts(t *testing.T) {
	root := moduleRoot(t)
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", root+"/examples")
			e.Setenv("XDG_CONFIG_HOME", e.WorkDir+"/config")
			e.Setenv("HOME", e.WorkDir)
			return nil
		},
	})
}
