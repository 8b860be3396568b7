package page

import (
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// What the end of a match says of fixtures that nobody watched is there for the page, until the next run begins.
func TestThePageSaysWhichFixturesWereNotWatched(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	begin := session.Entry{Kind: core.KindRun, Run: &session.RunInfo{Rig: "a rig", Work: "match"}}
	b.Entry(begin)
	b.Entry(session.Entry{Kind: core.KindEnd, Note: "run done", Unwatched: "not watched: wash"})
	if got := b.Now().Top.Unwatched; got != "not watched: wash" {
		t.Errorf("at the end: %q", got)
	}
	b.Entry(begin)
	if got := b.Now().Top.Unwatched; got != "" {
		t.Errorf("in the next run: %q", got)
	}
}
