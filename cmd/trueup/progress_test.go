package main

import (
	"bytes"
	"strings"
	"testing"

	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/printable"
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

// What is said of a fixture beside its visits is shown: that it changes its colour by itself, or shines with its dimmer down.
func TestProgressShowsWhatIsSaidOfAFixture(t *testing.T) {
	var out bytes.Buffer
	show := newProgress(&out)
	cfg := &core.Config{Work: core.Match}
	show.Entry(core.Entry{Kind: core.KindRun, Run: &core.RunInfo{Work: "match", Core: cfg, Fixtures: []core.FixtureInfo{{Name: "wash"}}}})
	show.Entry(core.Entry{Kind: core.KindDrift, Fixture: "wash", Note: "wash changes its colour by itself"})
	if !strings.Contains(out.String(), "wash changes its colour by itself\n") {
		t.Errorf("%q", out.String())
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
	if !strings.Contains(out.String(), "Matched without being read as found: 1 fixture, since") {
		t.Error(out.String())
	}
}

// What wants a person rings the bell: the writer that makes controls harmless would have shown it as text.
func TestWhatWantsAPersonRings(t *testing.T) {
	var screen bytes.Buffer
	show := newProgress(printable.NewWriter(&screen))
	show.paint = &painter{w: &screen, size: func() (int, int) { return 80, 24 }}
	show.call("the meter is silent")
	if got := screen.String(); got != "\athe meter is silent\n" {
		t.Errorf("%q", got)
	}
}

// A person who reads a meter is told what else may be typed.
func TestAQuestionSaysWhatMayBeAnswered(t *testing.T) {
	var out bytes.Buffer
	if _, err := newTerminal(strings.NewReader("skip\n"), &out).ask(t.Context(), feed.Question{Skip: true, Undo: true}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "or x and y; skip or undo): ") {
		t.Error(out.String())
	}
	out.Reset()
	if _, err := newTerminal(strings.NewReader("none\n"), &out).ask(t.Context(), feed.Question{Any: true, Skip: true}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "or x and y, or none if it has no figures; or skip): ") {
		t.Error(out.String())
	}
}

// How a run that is gone on with stood is said in the words of its work: a survey and a verification land nothing, they read.
func TestARunThatIsGoneOnWithSaysHowFarItWas(t *testing.T) {
	landed := &session.Outcome{Result: solve.Landed}
	for work, want := range map[core.Work]string{core.Match: "1 of 3 fixtures had landed", core.Survey: "2 of 3 fixtures had been read", core.Verify: "1 of 3 fixtures had been read"} {
		var out bytes.Buffer
		run := &session.RunInfo{Work: string(work), Fixtures: []session.FixtureInfo{{Name: "a"}, {Name: "b"}, {Name: "c"}, {Name: "window", Fixed: true}}}
		newProgress(&out).earlier([]session.Entry{
			{Kind: core.KindRun, Run: run}, {Kind: core.KindFound, Fixture: "a", Reading: &core.Measured{}}, {Kind: core.KindOutcome, Fixture: "a", Outcome: landed}, {Kind: core.KindOutcome, Fixture: "a", Outcome: landed},
			{Kind: core.KindFound, Fixture: "b", Reading: &core.Measured{}}, {Kind: core.KindVerify, Fixture: "a", Outcome: landed},
		})
		if !strings.Contains(out.String(), want) {
			t.Errorf("%s: said %q, want %q", work, out.String(), want)
		}
	}
}
