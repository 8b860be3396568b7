package session

import (
	"strings"
	"testing"

	"trueup/loop/feed"
	"trueup/loop/session/core"
)

// Before a run is said which of its probes were never brought into agreement; nothing is said where
// all agree, over others too, or where there is one alone.
func TestProbesThatWereNeverAlignedAreSaid(t *testing.T) {
	at := func(probes ...string) *Compiled {
		c := &Compiled{}
		for _, p := range probes {
			u := &Unit{}
			u.Info.Probe = p
			c.Units = append(c.Units, u)
		}
		return c
	}
	to := func(probe string) feed.Correction { return feed.Correction{GainY: 1, To: probe} }
	for _, c := range []struct {
		name        string
		compiled    *Compiled
		corrections map[string]feed.Correction
		work        core.Work
		want        string
	}{
		{"one probe", at("a", "a"), nil, core.Match, ""},
		{"two, never aligned", at("a", "b", "a"), nil, core.Match, `probes "a", "b" were never`},
		{"one of them has no name", at("", "b"), nil, core.Match, `probes that of fixtures without probe:, "b" were never`},
		{"two, aligned", at("a", "b"), map[string]feed.Correction{"a": to("b")}, core.Match, ""},
		{"aligned over a third that is not used", at("a", "b"), map[string]feed.Correction{"a": to("m"), "b": to("m")}, core.Match, ""},
		{"one left out", at("a", "b", "c"), map[string]feed.Correction{"b": to("a")}, core.Match, `probes "a", "c" were never`},
		{"a correction of others", at("a", "b"), map[string]feed.Correction{"x": to("y")}, core.Match, `probes "a", "b" were never`},
		{"one meter carried about", at("a", "b"), nil, core.ByHand, ""},
	} {
		j := Job{Compiled: c.compiled, Work: c.work, Plan: core.DefaultPlan()}
		j.Feeds.Corrections = c.corrections
		if got := j.Unaligned(); got != "" != (c.want != "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want it to say %q", c.name, got, c.want)
		}
	}
}
