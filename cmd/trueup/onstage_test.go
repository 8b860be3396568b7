package main

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"trueup/cmd/trueup/page"
	"trueup/dmx/sacn"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/safety"
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
	sayStage(&out, session.Job{Rig: r, Compiled: &session.Compiled{}}, &session.Result{Dir: "runs/one", Summary: s}, false, nil)
	for _, want := range []string{"trueup recall runs/one --stage " + at, "trueup resume runs/one --stage " + at} {
		if !strings.Contains(out.String(), want+"\n") {
			t.Errorf("not said: %q\n%s", want, &out)
		}
	}
}

// After a run that another source ended the fixtures do what that source sends: they are not said to be at rest.
func TestTheStageIsTheOtherSourcesAfterItEndedARun(t *testing.T) {
	j := session.Job{Rig: &rig.Rig{}, Compiled: &session.Compiled{Heads: make([]safety.Head, 1)}}
	if got := page.StageNow(j, false, fmt.Errorf("run: %w", sacn.ErrContended)); strings.Contains(got, "at rest") || !strings.Contains(got, "the other source sends") {
		t.Errorf("said %q", got)
	}
	if got := page.StageNow(j, false, nil); !strings.Contains(got, "at rest") {
		t.Errorf("said %q", got)
	}
}
