package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"trueup/profiles/printable"
	"trueup/profiles/yamlfile"
)

// Exit codes, for scripts.
const (
	exitLanded  = 0 // everything landed, or the command did what was asked
	exitNotAll  = 1 // something did not: a fixture, a check, a file
	exitUsage   = 2 // the command line itself was wrong
	exitStopped = 3 // a person or a signal stopped the run
)

// exitError carries an exit code through cobra. A nil err means that the
// command has said already what there was to say.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return ""
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// usageError marks a wrong command line (exit code 2).
func usageError(format string, args ...any) error {
	return &exitError{exitUsage, fmt.Errorf(format, args...)}
}

// run executes the command line and returns the exit code.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	stdout, stderr = printable.NewWriter(stdout), printable.NewWriter(stderr)
	started := false // whether cobra accepted the command line
	root.PersistentPreRun = func(*cobra.Command, []string) { started = true }
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.Execute()
	if err == nil {
		return exitLanded
	}
	code := exitNotAll
	if !started {
		code = exitUsage
	}
	var e *exitError
	if errors.As(err, &e) {
		code = e.code
	}
	showError(stderr, err)
	return code
}

// showError prints an error for people: several joined ones one by one, those
// from a file with the line they are in and a hint.
func showError(w io.Writer, err error) {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			showError(w, e)
		}
		return
	}
	var located yamlfile.Errors
	switch {
	case errors.As(err, &located):
		for _, e := range located {
			fmt.Fprintf(w, "error: %s", yamlfile.Errors{e}.Report())
		}
	case err.Error() != "":
		fmt.Fprintf(w, "error: %v\n", err)
	}
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "trueup",
		Short:         "Bring lamps of different makers to the same colour, by measuring",
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usageError("%v (see '%s --help')", err, c.CommandPath())
	})
	addSettingsFlags(root)
	root.AddCommand(
		newListenCommand(),
		newByHandCommand(),
		newCheckCommand(),
		newCuesCommand(),
		newDemoCommand(),
		newMatchCommand(),
		newPaletteCommand(),
		newProfileCommand(),
		newRigCommand(),
		newStageCommand(),
		newSurveyCommand(),
		newVerifyCommand(),
		newFeedCommand(),
		newReadCommand(),
		newRecallCommand(),
		newReportCommand(),
		newResumeCommand(),
		newColorCommand(),
		newGelCommand(),
		newVersionCommand(),
	)
	return root
}
