package main

import (
	"bytes"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A reference is read and matched to nothing, and a look that is kept does not settle.
func TestProgressSaysWhatAFixtureDoes(t *testing.T) {
	for _, c := range []struct {
		work core.Work
		kind core.Kind
		want string
	}{{core.Match, core.KindReading, "being read"}, {core.Keep, core.KindSent, "kept"}, {core.Match, core.KindSent, "settling"}} {
		show := newProgress(&bytes.Buffer{})
		cfg := &core.Config{Work: c.work, Plan: core.Plan{Target: core.Target{Reference: "house"}}}
		show.Entry(core.Entry{Kind: core.KindRun, Run: &core.RunInfo{Work: string(c.work), Core: cfg, Fixtures: []core.FixtureInfo{{Name: "house", Fixed: true}}}})
		show.Entry(core.Entry{Kind: c.kind, Fixture: "house", Reading: &core.Measured{Delta: 0.0005}})
		if line := show.rows[0].line(10); !strings.Contains(line, c.want) || strings.Contains(line, "->") {
			t.Errorf("%s, %s: %q, want %q and no distance", c.work, c.kind, line, c.want)
		}
	}
}

// Where the table of a run has nothing under "as found" it says why.
func TestATableSaysWhatWasNotReadAsFound(t *testing.T) {
	o := &core.Outcome{Result: solve.Landed, Before: &core.Step{Action: "as found, not set", Codes: []uint32{1}}, Final: &core.Stand{Delta: 0.0002}}
	s, err := session.Summarise([]session.Entry{
		{Kind: core.KindRun, Run: &core.RunInfo{Work: "match", Fixtures: []core.FixtureInfo{{Name: "wash"}}}},
		{Kind: core.KindOutcome, Fixture: "wash", Outcome: o}, {Kind: core.KindEnd}})
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	printResult(&out, &session.Result{Summary: s})
	if !strings.Contains(out.String(), "matched without being read as found") {
		t.Error(out.String())
	}
}
