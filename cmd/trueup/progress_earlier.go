package main

import (
	"fmt"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// earlier takes in what a run that is gone on with had done before, and shows only how it
// stood: how many fixtures had landed, or, of a survey or a verification, had been read.
func (p *progress) earlier(entries []session.Entry) {
	if len(entries) == 0 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	of, word := core.KindOutcome, "landed"
	switch core.Work(entries[0].Run.Work) {
	case core.Survey:
		of, word = core.KindFound, "been read"
	case core.Verify:
		of, word = core.KindVerify, "been read"
	}
	done, ours := map[string]bool{}, 0
	for _, e := range entries {
		p.quietly(e)
		if e.Kind == of && (of != core.KindOutcome || e.Outcome.Landed()) {
			done[e.Fixture] = true
		}
	}
	for _, f := range entries[0].Run.Fixtures {
		if !f.Fixed && !f.LeftOut {
			ours++
		}
	}
	fmt.Fprintf(p.w, "resuming: %d of %d fixtures had %s\n", len(done), ours, word)
}
