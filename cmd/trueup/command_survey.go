package main

import (
	"github.com/spf13/cobra"

	"trueup/loop/session/core"
)

func newSurveyCommand() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "survey RIG",
		Short: "Read every fixture as found, set as its profile says",
		Long: `Reads the background and the reference, then lights one fixture after another as its profile says it gives the reference's
colour (in an overlay: as the desk has it) and reads each once. Nothing is matched. It shows who stands how far off before you decide what to
match, and to what. Journal and report go into a folder of the run's own.

Without --live it only rehearses. Exit code 0: every fixture was read or named with its reason; 1: a fault; 2: wrong use; 3: stopped.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runCommand(c, args[0], core.Survey, f, "") },
	}
	f.add(c)
	return c
}
