package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"trueup/profiles/oserror"
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
	stdout, stderr = shown(stdout, root), shown(stderr, root)
	if f := foldOf(stdout); f != nil {
		foldHelp(root, f)
	}
	started := false // whether cobra accepted the command line
	root.PersistentPreRun = func(*cobra.Command, []string) { started = true }
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	began := time.Now()
	did, err := root.ExecuteC()
	code := exitLanded
	if err != nil {
		code = exitCode(err, started)
		showError(stderr, err)
	}
	if started {
		shareAfter(did, began, stderr)
	}
	return code
}

// shown is where what the commands below root write to w becomes safe to show, and fits a terminal.
func shown(w io.Writer, root *cobra.Command) io.Writer {
	if f := terminalOf(w); f != nil {
		w = newFold(f, root)
	}
	return printable.NewWriter(w)
}

func exitCode(err error, started bool) int {
	var e *exitError
	switch {
	case errors.As(err, &e):
		return e.code
	case !started:
		return exitUsage
	}
	return exitNotAll
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
		if hint := hintFor(err); hint != "" {
			fmt.Fprintf(w, "hint: %s\n", hint)
		}
	case err.Error() != "":
		fmt.Fprintf(w, "error: %s\n", oserror.Text(err))
		if hint := hintFor(err); hint != "" {
			fmt.Fprintf(w, "hint: %s\n", hint)
		}
	}
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "trueup",
		Short:         "Bring fixtures of different makers to the same colour, by measuring",
		Version:       versionLine(),
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.RunE = func(c *cobra.Command, _ []string) error {
		if f, ok := c.InOrStdin().(*os.File); ok && term.IsTerminal(int(f.Fd())) {
			return start(c, &questions{in: newAnswers(f), out: c.OutOrStdout()})
		}
		return c.Help()
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usageError("%v%s (see '%s --help')", flagWords(err), nearFlag(c, err), c.CommandPath())
	})
	root.SetHelpCommand(newHelpCommand())
	addSettingsFlags(root)
	root.AddCommand(
		newListenCommand(),
		leavesRun(newByHandCommand()),
		newCheckCommand(),
		newCuesCommand(),
		newDemoCommand(),
		leavesRun(newMatchCommand()),
		newCommonCommand(),
		newHistoryCommand(),
		leavesRun(newKeepCommand()),
		leavesRun(newPaletteCommand()),
		newProfileCommand(),
		newRigCommand(),
		newServeCommand(),
		newStageCommand(),
		leavesRun(newSurveyCommand()),
		leavesRun(newVerifyCommand()),
		newFeedCommand(),
		newReadCommand(),
		newRecallCommand(),
		newReportCommand(),
		leavesRun(newResumeCommand()),
		newColorCommand(),
		newGelCommand(),
		newVersionCommand(),
		newManPagesCommand(),
		newLearntCommand(),
		newStartCommand(),
	)
	root.InitDefaultCompletionCmd() // now, so that its help is whole too
	wholeHelp(root)
	return root
}

// plainDuration writes a duration without the parts that are zero: 30m, not 30m0s.
func plainDuration(d time.Duration) string {
	s := d.String()
	if short, ok := strings.CutSuffix(s, "m0s"); ok {
		s = short + "m"
	}
	if short, ok := strings.CutSuffix(s, "h0m"); ok {
		s = short + "h"
	}
	return s
}

// exitCodes is what the help of every command says of them, unless its own
// words do.
const exitCodes = "Exit codes: 0 done; 1 a fault, or something did not land; 2 wrong command line; 3 stopped by a person or a signal."

// foldHelp fits the paragraphs of the help of c and all below it to a terminal.
func foldHelp(c *cobra.Command, f *fold) {
	c.Long = f.text(reflowed(c.Long))
	for _, sub := range c.Commands() {
		foldHelp(sub, f)
	}
}

// wholeHelp adds to the help of c and all below it the exit codes, and makes a
// subcommand that does not exist an error.
func wholeHelp(c *cobra.Command) {
	if c.Long == "" {
		c.Long = c.Short + "."
	}
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if d, err := time.ParseDuration(f.DefValue); err == nil && d > 0 && f.Value.Type() == "duration" {
			f.DefValue = plainDuration(d)
		}
	})
	if !strings.Contains(c.Long, "Exit code") {
		c.Long += "\n\n" + exitCodes
	}
	for _, sub := range c.Commands() {
		wholeHelp(sub)
	}
	if !c.HasSubCommands() && c.Args != nil {
		c.Args = countedWords(c.Args)
	}
	if c.HasSubCommands() && !c.Runnable() { // cobra shows its help for any word
		c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
	}
	takesWords := c.Args != nil && c.Args(c, []string{"a word"}) == nil
	if c.HasSubCommands() && !takesWords {
		c.Args = func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			if err := strayWord(c, args[0]); err != nil {
				return err
			}
			return usageError("unknown command %q for %q%s (see '%s --help')", args[0], c.CommandPath(), nearCommand(c, args[0]), c.CommandPath())
		}
	}
}
