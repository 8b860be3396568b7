package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"trueup/profiles/mvr/mvrtest"
)

// The scripts in testdata type what a user types. The test binary serves as
// the program itself, so the demo can start its stage as a second process.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"trueup":    func() { tellVitals(); os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
		"floodpeer": floodPeer,
		"peak":      peakMemory,
	})
}

func TestScripts(t *testing.T) {
	root := moduleRoot(t)
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		// plan NAME FILE writes one of our planned rigs (mvrtest.Plans).
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"plan": func(ts *testscript.TestScript, _ bool, args []string) {
			ts.Check(os.WriteFile(ts.MkAbs(args[1]), mvrtest.Pack(mvrtest.Plans()[args[0]]...), 0o644))
		}},
		Setup: func(e *testscript.Env) error {
			// Scripts that hold a rig name the example profiles by $EXAMPLES.
			examples := filepath.ToSlash(filepath.Join(root, "examples"))
			rigs, err := filepath.Glob(filepath.Join(e.WorkDir, "*.yaml"))
			if err != nil {
				return err
			}
			for _, path := range rigs {
				text, err := os.ReadFile(path)
				if err != nil {
					return err
				}
				if err := os.WriteFile(path, bytes.ReplaceAll(text, []byte("$EXAMPLES"), []byte(examples)), 0o644); err != nil {
					return err
				}
			}
			e.Setenv("EXAMPLES", examples)
			e.Setenv("XDG_CONFIG_HOME", e.WorkDir+"/config")
			e.Setenv("HOME", e.WorkDir)
			return nil
		},
	})
}
