package main

import (
	"fmt"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// earlier takes in what a run that is gone on with had done before, and shows only how it
// stood.
func (p *progress) earlier(entries []session.Entry) {
	if len(entries) == 0 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	done, ours := 0, 0
	for _, e := range entries {
		p.quietly(e)
		if e.Kind == core.KindOutcome && e.Outcome.Landed() {
			done++
		}
	}
	for _, f := range entries[0].Run.Fixtures {
		if !f.Fixed && !f.LeftOut {
			ours++
		}
	}
	fmt.Fprintf(p.w, "resuming: %d of %d fixtures had landed; all that was measured stands\n", done, ours)
}
