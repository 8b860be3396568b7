package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// matchToVerify is the run that a verification holds lamps against: the named one, or the newest match of the rig.
func matchToVerify(set *settings, r *rig.Rig, named string) (*session.Summary, error) {
	dir, s, err := previousRun(set.Out, r.Name, named)
	if err == nil && !anySetting(s) {
		err = fmt.Errorf("%s (%s) matched no lamp over the network: there is nothing to verify; name a match with --run", dir, s.Info.Work)
	}
	return s, err
}

func newVerifyCommand() *cobra.Command {
	var f runFlags
	var previous string
	c := &cobra.Command{
		Use:   "verify RIG",
		Short: "Read a matched rig again: does it still stand?",
		Long: `Sets every fixture to the settings of an earlier run, reads the reference and each fixture afresh, and says which have
drifted. Nothing is trimmed; run match for that.

That a lamp has drifted rests on four fresh readings at the least that agree. A lamp that stands so near the edge of the tolerance that the
meter can not tell inside from outside is said to be at the edge; if it is where the match left it, it stands.

Exit code 0: all fixtures stand; 1: something does not; 2: wrong use; 3: stopped by a person or a signal.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return runCommand(c, args[0], core.Verify, f, previous) },
	}
	f.add(c)
	c.Flags().StringVar(&previous, "run", "", "folder of the earlier run (default: the newest one of this rig)")
	return c
}
