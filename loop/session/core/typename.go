package core

import (
	"fmt"

	"trueup/profiles/printable"
)

// TypeName is what the type of a unit is called in words: its profile, and its mode where there is another of that profile among
// all units of the run.
func TypeName(i FixtureInfo, among []FixtureInfo) string {
	for _, other := range among {
		if other.Profile == i.Profile && other.Mode != i.Mode {
			return fmt.Sprintf("%s (%s)", i.Profile, i.Mode)
		}
	}
	return i.Profile
}

func (c *Core) infos() (all []FixtureInfo) {
	for _, u := range c.units {
		all = append(all, u.Info)
	}
	return all
}

// short says why what earlier runs have watched does not show at a tolerance, in u'v', that the type keeps its colour; "" where they have
// watched nothing.
func (s Steadiness) short(tolerance float64) string {
	if s.Watched == 0 {
		return ""
	}
	why := "too short to speak for the type"
	switch {
	case s.Watched < watchedUnits:
		why = "too few to speak for the type"
	case s.For >= UsualWatch:
		why = fmt.Sprintf("too coarsely for a tolerance of %.4f", tolerance)
	}
	return fmt.Sprintf(" (%d watched for %s in an earlier run: %s)", s.Watched, printable.Span(s.For), why)
}
