package main

import (
	"bytes"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
)

// Whoever tried a match on a simulated stage goes on there: what the run says to
// type has the stage in it, and every command that takes up a run takes it.
func TestARunOnAStageIsGoneOnWithThere(t *testing.T) {
	const at = "127.0.0.1:6001,127.0.0.1:6002"
	for _, name := range []string{"match", "survey", "verify", "keep", "recall", "resume", "serve", "check"} {
		c, _, err := newRoot().Find([]string{name})
		if err != nil || c.Flags().Lookup("stage") == nil {
			t.Errorf("%s takes no --stage (%v)", name, err)
		}
	}
	r := &rig.Rig{}
	if err := onStage(r, at); err != nil {
		t.Fatal(err)
	}
	s := &session.Summary{Fixtures: []session.FixtureSummary{{Outcome: &session.Outcome{Result: solve.Landed, Final: &session.Stand{}, After: &session.Step{}}}}}
	s.Info.Work = string(core.Match)
	var out bytes.Buffer
	sayStage(&out, session.Job{Rig: r, Compiled: &session.Compiled{}}, &session.Result{Dir: "runs/one", Summary: s}, false)
	for _, want := range []string{"trueup recall runs/one --stage " + at, "trueup resume runs/one --stage " + at} {
		if !strings.Contains(out.String(), want+"\n") {
			t.Errorf("not said: %q\n%s", want, &out)
		}
	}
}
