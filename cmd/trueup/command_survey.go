package main

import (
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc/expr"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/profiles/yamlfile"
)

func newSurveyCommand() *cobra.Command {
	var f runFlags
	var earlier string
	c := &cobra.Command{
		Use:   "survey RIG",
		Short: "Read every fixture as found, and set them side by side",
		Long: `What it is for: to see, before anything is matched, which fixtures differ, from what, and by how much, so that you can choose the
fixture or the colour that all others are to come to.

With --live it reads the background and the reference, then lights one fixture after another as its profile says it gives the
reference's colour (in an overlay: as the desk has it) and reads each once. Nothing is matched. Journal and report go into a folder of
the run's own. Without --live it only rehearses.

--against sets every fixture beside one light: the difference in colour temperature, in Duv, in u'v', and in level in stops. It may name a
fixture, a group (the mean of its fixtures as they were read), all, or a colour such as "4300 K duv -0.002". Without --live it does so from the newest survey of
the rig and reads nothing anew, so you can try one choice after another. One reading stands behind each figure: a difference near
the scatter of the meter says little. Levels are compared only where the same probe saw both.

Exit codes: 0 every fixture was read or named with its reason; 1 a fault, or no survey yet; 2 wrong command line; 3 stopped.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case earlier != "" && f.live:
				return usageError("--run looks at an earlier survey, and --live makes a new one: leave out one of them")
			case earlier != "" && f.against == "":
				return usageError("--run looks at an earlier survey: say beside what with --against")
			case f.against != "" && !f.live && !f.rehearse:
				return surveyAgain(c, args[0], earlier, f)
			}
			return runCommand(c, args[0], core.Survey, f, "")
		},
	}
	f.add(c)
	c.Flags().StringVar(&f.against, "against", "", "fixture, group, all or colour that every fixture is set beside")
	c.Flags().StringVar(&earlier, "run", "", "folder of an earlier survey to look at (default: the newest complete one of this rig)")
	return c
}

// surveyAgain sets an earlier survey's lights beside one, from its journal alone.
func surveyAgain(c *cobra.Command, path, dir string, f runFlags) error {
	set, r, err := settingsAndRig(c, path)
	if err != nil {
		return err
	}
	if dir == "" {
		if dir, err = session.NewestSurvey(set.Out, r.Name); err != nil {
			return err
		}
	} else if dir, err = runFolder(set.Out, dir); err != nil {
		return err
	}
	_, s, err := readRun(dir)
	if err != nil {
		return err
	}
	if !strings.EqualFold(s.Info.Rig, r.Name) {
		return usageError("%s is a run of the rig %q, not of %q", dir, s.Info.Rig, r.Name)
	}
	against, err := compareAgainst(r, s, f.against)
	if err != nil {
		return err
	}
	if f.json {
		return report.WriteRunJSON(c.OutOrStdout(), dir, s, &against)
	}
	return sayComparison(c.OutOrStdout(), dir, s, against)
}

func sayComparison(w io.Writer, dir string, s *session.Summary, c report.Comparison) error {
	if _, err := io.WriteString(w, "as found by the "+s.Info.Work+" of "+s.Started.Format("2 January 2006, 15:04")+" ("+dir+")\n"); err != nil {
		return err
	}
	report.WriteComparison(w, c)
	return nil
}

// compareAgainst sets the fixtures of a run, as found, beside the light that a person names.
func compareAgainst(r *rig.Rig, s *session.Summary, name string) (report.Comparison, error) {
	all := report.AsFound(s)
	with, err := namedStanding(r, s, all, name)
	if err != nil {
		return report.Comparison{}, err
	}
	return report.Compare(all, with), nil
}

func namedStanding(r *rig.Rig, s *session.Summary, all []report.Standing, name string) (report.Standing, error) {
	if i := slices.IndexFunc(all, func(x report.Standing) bool { return x.Name == name }); i >= 0 {
		return all[i], nil
	}
	names := []string{"all"}
	for _, f := range s.Fixtures {
		if f.Name == name {
			return report.Standing{}, usageError("--against %q: that fixture was not read", name)
		}
		names = append(names, f.Name)
	}
	for _, g := range r.Groups {
		if g.Name == name {
			return meanStanding(name, membersOf(r, s, g), all)
		}
		names = append(names, g.Name)
	}
	if name == "all" {
		var members []string
		for _, x := range all {
			members = append(members, x.Name)
		}
		return meanStanding("the mean of all", members, all)
	}
	c, err := expr.Parse(name)
	if err != nil {
		hint := ""
		if near := yamlfile.Nearest(name, names); near != "" {
			hint = "; did you mean " + near + "?"
		}
		return report.Standing{}, usageError("--against %q is no fixture, no group and no colour: %v%s", name, err, hint)
	}
	return report.Standing{Name: name, UV: c.XY.UV()}, nil
}

// membersOf names the heads of a group's fixtures as a run does.
func membersOf(r *rig.Rig, s *session.Summary, g rig.Group) []string {
	var out []string
	for _, i := range g.Fixtures {
		for _, f := range s.Fixtures {
			if own := r.Fixtures[i].Name; f.Name == own || r.Fixtures[i].Heads > 1 && strings.HasPrefix(f.Name, own+"/") {
				out = append(out, f.Name)
			}
		}
	}
	return out
}

func meanStanding(name string, members []string, all []report.Standing) (report.Standing, error) {
	mean, missing := report.MeanOf(name, members, all)
	if len(missing) == len(members) {
		return mean, usageError("--against %q: none of its fixtures was read", name)
	}
	if len(missing) > 0 {
		mean.Name += " (without " + strings.Join(missing, ", ") + ", not read)"
	}
	return mean, nil
}
