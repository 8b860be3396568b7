package main

import (
	"fmt"
	"slices"
	"strings"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/printable"
)

// mostBeyond fixtures are named that do not reach the target of a match.
const mostBeyond = 3

// beyondReach says, before a match, which fixtures are likely not to reach its target by what is known of them; "" where all
// are likely to, or nothing can be told yet. It is no fault: only readings tell.
func beyondReach(set *settings, j session.Job) string {
	if j.Work != core.Match || j.Rig.Target.BestCommon {
		return "" // a best common colour is told with what it costs
	}
	reaches, words, earlier, err := reachesOf(set, j)
	if err != nil {
		return "" // the match itself says what is wrong
	}
	wish, uv, err := wishOf(j.Rig, "", earlier)
	if err != nil {
		return "" // the light of the reference was not read yet
	}
	out := slices.DeleteFunc(reaches.Cost(uv, uv).Out, func(s session.Shortfall) bool { return !session.LikelyBeyond(s.Off, s.SD, j.Plan.Tolerance) })
	if len(out) == 0 {
		return ""
	}
	var names []string
	for _, s := range out[:min(len(out), mostBeyond)] {
		names = append(names, fmt.Sprintf("%s stays %.4f off at its nearest (± %.4f, 1 sd)", s.Fixture, s.Off, s.SD))
	}
	if more := len(out) - len(names); more > 0 {
		names = append(names, printable.Count(more, "fixture")+" more")
	}
	return fmt.Sprintf("%s is beyond the reach of %d of %s: %s; predicted from %s. Colours that they reach: trueup common %s",
		wish, len(out), printable.Count(reaches.Fixtures(), "fixture"), strings.Join(names, ", "), words, typed(j.Rig.Path))
}
