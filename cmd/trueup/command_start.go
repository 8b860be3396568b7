package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"trueup/loop/session/rig"
)

func newStartCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "start",
		Short: "Ask what is there, and lead to a checked rig",
		Long: `Asks what you have: a planner's file, a patch list, a desk on the network, or nothing written down; and leads through what is to be done until the rig
file stands. Nothing is sent, and an existing file is never overwritten.

Exit codes: 0 the rig file is written; 1 it could not be, or needs your hand; 2 wrong command line; 3 the answers ended, or you stopped.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return start(c, &questions{in: newAnswers(c.InOrStdin()), out: c.OutOrStdout()})
		},
	}
}

func start(c *cobra.Command, q *questions) error {
	fmt.Fprint(q.out, "What do you have?\n  plan     a planner's file (My Virtual Rig, .mvr)\n  list     a patch list (text with columns)\n"+
		"  desk     a desk on this network, and nothing written down: listens to it, then asks\n  nothing  nothing written down: asks\n  try      no hardware: an example on a simulated stage\n")
	what, err := q.ask("plan, list, desk, nothing or try", "nothing", func(s string) error {
		switch s {
		case "plan", "list", "desk", "nothing", "try":
			return nil
		}
		return errors.New("want plan, list, desk, nothing or try")
	})
	if err != nil {
		return err
	}
	if what == "try" {
		fmt.Fprint(q.out, "type:\n  trueup rig copy-example beside-a-desk\n  trueup stage beside-a-desk/rig.yaml --desk      (in a second terminal)\n"+
			"  trueup match beside-a-desk/rig.yaml --live\n")
		return nil
	}
	file := ""
	if what == "plan" || what == "list" {
		if file, err = askSource(q, what); err != nil {
			return err
		}
	}
	out, err := q.ask("Rig file to write", "rig.yaml", newRigFile)
	if err != nil {
		return err
	}
	if what == "desk" {
		fmt.Fprintln(q.out, "\nListening for 5 s (trueup listen does it for longer):")
		if err := inner(c, "listen", "--for", "5s"); err != nil {
			fmt.Fprintf(q.out, "  nothing could be heard: %v\n", err)
		}
	}
	if what == "desk" || what == "nothing" {
		d, err := askRig(q, filepath.Dir(out), what == "desk")
		if err != nil {
			return err
		}
		return writeRig(c, d, out)
	}
	args := []string{"rig", "import", file, "-o", out}
	if what == "list" {
		m, err := q.ask("Which column is what (name=HEADING,address=HEADING,profile=HEADING,...)", "", func(s string) error {
			_, err := rig.ParseMapping(s)
			return err
		})
		if err != nil {
			return err
		}
		args = append(args, "--map", m)
	}
	return inner(c, args...)
}

// askSource asks for the planner's file or the patch list that there is.
func askSource(q *questions, what string) (string, error) {
	return q.ask("The file that you have", "", func(s string) error {
		if s == "" {
			return errors.New("a file is needed; Ctrl-C leaves")
		}
		plan, err := isPlan(s)
		if err == nil && plan != (what == "plan") {
			err = fmt.Errorf("%s is no %s", s, map[string]string{"plan": "planner's file", "list": "patch list"}[what])
		}
		return err
	})
}

// newRigFile refuses a name that no rig file can have, or that is taken.
func newRigFile(s string) error {
	if !isYAML(s) {
		return fmt.Errorf("%s: a rig file ends in .yaml, such as rig.yaml", s)
	}
	return absent(s)
}

// inner runs another command of the program at the same terminal.
func inner(c *cobra.Command, args ...string) error {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(c.InOrStdin())
	root.SetOut(c.OutOrStdout())
	root.SetErr(c.ErrOrStderr())
	return root.Execute()
}
