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
		err = fmt.Errorf("%s (%s) matched no fixture over the network: there is nothing to verify; name a match with --run", dir, s.Info.Work)
	}
	return s, err
}

// verifies makes a job one that holds fixtures against the run that matchToVerify finds. What that run left out is left out again:
// there is nothing that it could be held against.
func verifies(j *session.Job, set *settings, r *rig.Rig, named string) (err error) {
	if j.Previous, err = matchToVerify(set, r, named); err != nil {
		return err
	}
	infos := make([]session.FixtureInfo, 0, len(j.Previous.Fixtures))
	for _, f := range j.Previous.Fixtures {
		infos = append(infos, f.FixtureInfo)
	}
	leaveOutAs(j, infos)
	return nil
}

func newVerifyCommand() *cobra.Command {
	var f runFlags
	var previous, points, probe string
	c := &cobra.Command{
		Use:   "verify RIG",
		Short: "Read a matched rig again: does it still stand?",
		Long: `Sets every fixture to the settings of an earlier run, reads the reference and each fixture afresh, and says which have
drifted. Nothing is trimmed; run match for that.

That a fixture has drifted rests on four fresh readings at the least that agree. A fixture that stands so near the edge of the tolerance that the
meter can not tell inside from outside is said to be at the edge; if it is where the match left it, it stands.

With --points the look is lit as a whole, and a person takes the meter from point to point of a backdrop or a wall: how far each is from the target, the
two that differ most, how even the light is. --points 5 counts them, --points 4x3 is a grid of 4 columns and 3 rows, --points "left, middle, right" names
them. Each rests on five readings that agree, or two of a meter that a person reads. All fixtures are lit and no background is taken off: it is what a camera sees.

Exit codes: 0 all fixtures stand, or all points lie within the tolerance; 1 something does not; 2 wrong command line; 3 stopped by a person or a signal.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if points != "" {
				return verifyPoints(c, args[0], f, previous, points, probe)
			}
			if probe != "" {
				return usageError("--probe says which one is taken from point to point: it goes with --points")
			}
			return runCommand(c, args[0], core.Verify, f, previous)
		},
	}
	f.add(c)
	c.Flags().StringVar(&points, "points", "", "read the lit surface at these points: a number, a grid such as 4x3, or names with commas")
	c.Flags().StringVar(&probe, "probe", "", "with --points: the probe that is taken from point to point (default: the only one)")
	c.Flags().StringVar(&previous, "run", "", "folder of the earlier run (default: the newest one of this rig)")
	return c
}
