package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"trueup/profiles/yamlfile"
)

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
			return usageError("%s takes no word after its name, and got %q (see '%s --help')", c.CommandPath(), args[0], c.CommandPath())
		}
		choice := ""
		if len(c.ValidArgs) > 0 {
			choice = "; " + strings.Fields(takes)[0] + " is one of " + strings.Join(c.ValidArgs, ", ")
		}
		return usageError("the command is '%s', and got %d words after its name%s (see '%s --help')", c.CommandPath()+" "+takes, len(args), choice, c.CommandPath())
	}
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
