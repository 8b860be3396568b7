package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rs/zerolog"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
)

// jobsOf makes the jobs of a page for a rig whose target is as told, with two fixtures of which one can not reach 5000 K.
func jobsOf(t *testing.T, target string) *pageJobs {
	t.Helper()
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	profiles, err := filepath.Abs("../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "rig.yaml")
	text := `rig: two
output: {mode: own, unicast: ["127.0.0.1:5568"]}
feeds: [{name: meter, kind: tcp, address: "127.0.0.1:1"}]
target: ` + target + `
fixtures:
  - {name: window, profile: $P/oldkeep-house-lamp.yaml, fixed: true, probe: mark}
  - {name: wash, profile: $P/farnwibble-wash-16.yaml, address: 1/1, probe: mark}
  - {name: picture, profile: $P/plimmelhof-track-lamp.yaml, address: 2/41, probe: mark}
`
	if err := os.WriteFile(path, []byte(strings.ReplaceAll(text, "$P", filepath.ToSlash(profiles))), 0o600); err != nil {
		t.Fatal(err)
	}
	return &pageJobs{set: &settings{Out: t.TempDir()}, path: path, log: zerolog.Nop()}
}

// What a person chooses on the page to match to is what is matched to, whatever the rig file says.
func TestThePageMatchesToWhatWasChosen(t *testing.T) {
	const common = "the best common colour near "
	for _, c := range []struct {
		target string
		order  page.Order
		want   string // in the plan's target
		notes  int    // at the least
		fault  string
	}{
		{"{color: 5000 K, level: 25 %}", page.Order{Work: "match"}, "5000 K", 0, ""},
		{"{color: 5000 K, level: 25 %}", page.Order{Work: "match", BestCommon: true}, common + "5000 K", 3, ""},
		{"{color: 5000 K, level: 25 %}", page.Order{Work: "match", BestCommon: true, Color: "4600 K"}, common + "4600 K", 3, ""},
		{"{reference: window, level: 25 %}", page.Order{Work: "match", BestCommon: true, Color: "4600 K"}, common + "4600 K", 3, ""},
		{"{color: 5000 K, level: 25 %, best_common: true}", page.Order{Work: "match"}, common + "5000 K", 3, ""},
		{"{color: 5000 K, level: 25 %, best_common: true}", page.Order{Work: "match", Color: "4600 K"}, "4600 K", 0, ""},
		{"{color: 5000 K, level: 25 %, best_common: true}", page.Order{Work: "match", Reference: "window"}, "window", 0, ""},
		{"{color: 5000 K, level: 25 %}", page.Order{Work: "match", BestCommon: true, Reference: "window"}, "", 0, "one of them"},
		{"{color: 5000 K, level: 25 %}", page.Order{Work: "survey", BestCommon: true}, "", 0, "for a match"},
		{"{reference: window, level: 25 %}", page.Order{Work: "match", BestCommon: true}, "", 0, "was not read yet"},
	} {
		q, err := jobsOf(t, c.target).prepare(context.Background(), c.order)
		switch {
		case c.fault != "":
			if err == nil || !strings.Contains(err.Error(), c.fault) {
				t.Errorf("%s, %+v: %v, want a fault with %q", c.target, c.order, err, c.fault)
			}
		case err != nil:
			t.Errorf("%s, %+v: %v", c.target, c.order, err)
		case !strings.Contains(q.Plan.Target, c.want) || strings.Contains(q.Plan.Target, common) != strings.Contains(c.want, common):
			t.Errorf("%s, %+v: matches to %q, want %q", c.target, c.order, q.Plan.Target, c.want)
		case len(q.Plan.Notes) < c.notes:
			t.Errorf("%s, %+v: notes %q, want what each choice costs", c.target, c.order, q.Plan.Notes)
		}
	}
}

// A figure as found that was computed says so in the table of a run, and whoever orders a match on the page can have every fixture read as found.
func TestAsFoundIsReadWhereAsked(t *testing.T) {
	if got := foundOf(&session.Outcome{Found: &session.Stand{Delta: 0.008, Computed: true}}); got != "0.0080 computed" {
		t.Errorf("computed as found: %q", got)
	}
	if got := foundOf(&session.Outcome{Found: &session.Stand{Delta: 0.008}}); got != "0.0080" {
		t.Errorf("read as found: %q", got)
	}
	for _, asked := range []bool{true, false} {
		q, err := jobsOf(t, "{color: 5000 K, level: 25 %}").prepare(context.Background(), page.Order{Work: "match", AsFound: asked})
		if err != nil || q.Job.Plan.AsFound != asked {
			t.Errorf("asked on the page: %v, in the plan: %v, %v", asked, q.Job.Plan.AsFound, err)
		}
	}
}
