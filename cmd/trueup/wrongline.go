package main

import (
	"errors"
	"fmt"
	"net"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"trueup/profiles/yamlfile"
)

// wantAddress refuses what nobody can listen at by TCP; "" is not asked for.
func wantAddress(flag, text, such string) error {
	if text == "" {
		return nil
	}
	_, port, err := net.SplitHostPort(text)
	if err == nil {
		_, err = strconv.ParseUint(port, 10, 16)
	}
	if err != nil {
		return usageError("--%s %q: want an address and a port, such as %s", flag, text, such)
	}
	return nil
}

// countedWords says what a command takes where the words after its name are too
// many or too few. A command that says it in its own words is left to it.
func countedWords(count cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		err := count(c, args)
		var own *exitError
		if err == nil || errors.As(err, &own) {
			return err
		}
		_, takes, _ := strings.Cut(c.Use, " ")
		if takes == "" {
			if err := strayWord(c, args[0]); err != nil {
				return err
			}
			return usageError("%s takes no word after its name, and got %q (see '%s --help')", c.CommandPath(), args[0], c.CommandPath())
		}
		choice := ""
		if len(c.ValidArgs) > 0 {
			choice = "; " + strings.Fields(takes)[0] + " is one of " + strings.Join(c.ValidArgs, ", ")
		}
		return usageError("the command is '%s', and got %d words after its name%s (see '%s --help')", c.CommandPath()+" "+takes, len(args), choice, c.CommandPath())
	}
}

// strayWord is what may be wrong with a word where none belongs, behind options: a value of two words without quotes
// falls apart. nil without options.
func strayWord(c *cobra.Command, word string) error {
	if c.Flags().NFlag() == 0 {
		return nil
	}
	return usageError("%s takes no word beside its options, and got %q; a value with a space in it stands in quotes (see '%s --help')", c.CommandPath(), word, c.CommandPath())
}

// nearFlag finds what an unknown flag may have been meant to be: its words, or nothing.
func nearFlag(c *cobra.Command, err error) string {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) {
		return ""
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			names = append(names, f.Name)
		}
	})
	if near := yamlfile.Nearest(unknown.GetSpecifiedName(), names); near != "" {
		return "; did you mean --" + near + "?"
	}
	return ""
}

// flagWords says of a value that its flag does not take what it takes, without
// the words of the functions that read it.
func flagWords(err error) string {
	var bad *pflag.InvalidValueError
	if !errors.As(err, &bad) {
		return err.Error()
	}
	want := map[string]string{
		"int": "a whole number", "uint": "a whole number from 0", "uint64": "a whole number from 0", "float64": "a number",
		"duration": "a time such as 30s or 2m", "bool": "true or false",
	}[bad.GetFlag().Value.Type()]
	if want == "" {
		return err.Error()
	}
	return fmt.Sprintf("--%s %s: want %s", bad.GetFlag().Name, bad.GetValue(), want)
}

// newHelpCommand is the usual help command, but for a word that names no
// command: that is an error, and not the help of something else.
func newHelpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Show the help of a command",
		Long:  "Shows the help of a command: trueup help rig import. Exit codes: 0 shown; 2 there is no such command.",
		RunE: func(c *cobra.Command, args []string) error {
			of := c.Root()
			for _, word := range args {
				next := subcommand(of, word)
				if next == nil {
					return usageError("%s has no command %q%s (see '%s --help')", of.CommandPath(), word, nearCommand(of, word), of.CommandPath())
				}
				of = next
			}
			of.InitDefaultHelpFlag()
			of.InitDefaultVersionFlag()
			return of.Help()
		},
	}
}

func subcommand(of *cobra.Command, word string) *cobra.Command {
	for _, sub := range of.Commands() {
		if sub.Name() == word || sub.HasAlias(word) {
			return sub
		}
	}
	return nil
}

// nearCommand finds what an unknown subcommand may have been meant to be: its words, or nothing.
func nearCommand(of *cobra.Command, word string) string {
	var names []string
	for _, sub := range of.Commands() {
		if !sub.Hidden {
			names = append(names, sub.Name())
		}
	}
	if near := yamlfile.Nearest(word, names); near != "" {
		return "; did you mean " + near + "?"
	}
	return ""
}
