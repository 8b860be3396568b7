package session

import (
	"fmt"
	"slices"
	"strings"

	"trueup/loop/feed"
	"trueup/loop/session/core"
)

// Heads of one make seldom read the same of one light: data sheets of tristimulus heads commonly state +/- 0.002 to
// 0.004 in x and y for white light, and more for saturated light. Two such differ by about so much, in u'v'.
const (
	apartFrom = 0.001
	apartTo   = 0.003
)

// Unaligned says which probes of the run were never brought into agreement with each other, and
// what that may make of lamps that are claimed matched; "" where all agree, one alone is used, or a person
// carries one meter about.
func (j *Job) Unaligned() string {
	if j.Plan.HandMeter || j.Work == core.ByHand || j.Work == core.Recall || j.Work == core.Rehearse || j.Work == core.Probe || j.Work == core.Points {
		return ""
	}
	var used []string
	for _, u := range j.Compiled.Units {
		used = append(used, u.Info.Probe)
	}
	return UnalignedWords(used, j.Feeds.Corrections, j.Plan.Tolerance)
}

// UnalignedWords is that of the probes of some fixtures, by the corrections that are known and for a tolerance in u'v'.
func UnalignedWords(used []string, corrections map[string]feed.Correction, tolerance float64) string {
	var groups [][]string // of probes that agree
	with := func(probe string) int {
		return slices.IndexFunc(groups, func(g []string) bool { return slices.Contains(g, probe) })
	}
	join := func(a, b string) {
		for _, p := range []string{a, b} {
			if with(p) < 0 {
				groups = append(groups, []string{p})
			}
		}
		if i, k := with(a), with(b); i != k {
			groups[i] = append(groups[i], groups[k]...)
			groups = slices.Delete(groups, k, k+1)
		}
	}
	for probe, c := range corrections {
		join(probe, c.To)
	}
	var apart []string // one of each group that is used
	said := map[int]bool{}
	for _, p := range used {
		join(p, p)
		if i := with(p); !said[i] {
			said[i] = true
			name := fmt.Sprintf("%q", p)
			if p == "" {
				name = "that of fixtures without probe:"
			}
			apart = append(apart, name)
		}
	}
	if len(apart) < 2 {
		return ""
	}
	return fmt.Sprintf("probes %s were never brought into agreement: two meters commonly differ by %.3f to %.3f u'v' on one white light, and what is claimed within %.4f is so by each fixture's own probe; trueup feed align, in a terminal, measures the difference",
		strings.Join(apart, ", "), apartFrom, apartTo, tolerance)
}
