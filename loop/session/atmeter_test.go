package session

import (
	"context"
	"testing"

	"trueup/loop/feed"
	"trueup/loop/session/core"
)

// A person at the meter is told whose light to read, and may leave a fixture only where one is worked at. Where nothing tells whose it
// is, as at the beginning of a run that goes on, none is named.
func TestWhoReadsIsToldWhoseLight(t *testing.T) {
	var m atMeter
	info := &RunInfo{Fixtures: []FixtureInfo{{Name: "sun", Fixed: true}, {Name: "key"}}, Core: &core.Config{Work: core.Match}}
	info.Core.Plan.Target.Reference = "sun"
	m.take(Entry{Kind: core.KindRun, Run: info})
	for _, step := range []struct {
		what  Entry
		whose string
		may   bool
	}{
		{Entry{Kind: core.KindBackground}, "sun", false},
		{Entry{Kind: core.KindReading, Fixture: "sun"}, "sun", false},
		{Entry{Kind: core.KindSent, Fixture: "key"}, "key", true},
		{Entry{Kind: core.KindReading, Fixture: "key"}, "key", true},
		{Entry{Kind: core.KindResume}, "", true}, // broken off in the middle of the visit
		{Entry{Kind: core.KindReading, Fixture: "sun"}, "", true},
		{Entry{Kind: core.KindReading, Fixture: "key"}, "key", true},
		{Entry{Kind: core.KindOutcome, Fixture: "key", Outcome: &Outcome{}}, "sun", false},
	} {
		m.take(step.what)
		answers := []string{"skip", "4300"}
		var heard []feed.Question
		ask := m.names(func(_ context.Context, q feed.Question) (string, error) {
			heard = append(heard, q)
			a := answers[0]
			answers = answers[1:]
			return a, nil
		})
		got, err := ask(t.Context(), feed.Question{Skip: true})
		if q := heard[0]; err != nil || q.Fixture != step.whose || q.Skip != step.may {
			t.Errorf("after %s %s: the light of %q, which may be left: %v; %v; want %q, %v", step.what.Kind, step.what.Fixture, q.Fixture, q.Skip, err, step.whose, step.may)
		}
		if (got == "skip") != step.may || !step.may && heard[1].Problem == "" {
			t.Errorf("after %s %s: skip was taken: %v, want %v; asked %+v", step.what.Kind, step.what.Fixture, got == "skip", step.may, heard)
		}
	}
	ask := m.names(func(_ context.Context, q feed.Question) (string, error) { return q.Fixture, nil })
	if whose, _ := ask(t.Context(), feed.Question{Dark: true}); whose != "" {
		t.Errorf("with the fixtures out the light of %q is asked for", whose)
	}
}
