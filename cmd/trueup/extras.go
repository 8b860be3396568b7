package main

import (
	"bytes"
	"context"
	"fmt"
	"html/template"
	"path/filepath"
	"time"

	"trueup/cmd/trueup/history"
	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/safety"
)

// extrasOf is what the report of the run in dir tells beside the run itself. Where something of it can not be had, the
// report is made without it and says so.
func extrasOf(dir string, s *session.Summary) report.Extras {
	x := report.Extras{Cautions: safety.Cautions}
	if s.Info.Work == string(core.Match) && s.Info.Core != nil && report.MissedByReach(s) {
		x.Common, x.Fixtures = otherTargets(dir, s)
	}
	x.History, x.HistoryWords = agedBy(dir, s.Info.Rig)
	return x
}

// otherTargets sets other targets beside that of a run, by what the run has learnt of its lamps.
func otherTargets(dir string, s *session.Summary) ([]session.Choice, int) {
	past, err := readPast(dir)
	if err != nil || s.Reference == nil {
		return nil, 0
	}
	learnt, err := past.learnt()
	if err != nil {
		return nil, 0 // of another version: its readings can not be weighed again
	}
	var units []*session.Unit
	for _, u := range s.Info.Core.Units {
		units = append(units, &session.Unit{Unit: u})
	}
	r, err := session.KnownReaches(units, s.Info.Core.Plan.Target.Reference, s.Info.Tolerance, learnt)
	if err != nil {
		return nil, 0
	}
	return r.Choices(s.Reference.UV), r.Fixtures()
}

// indexPatience bounds how long a report waits for the history: it can be asked again at any time.
const indexPatience = 20 * time.Second

// agedBy is how the emitters of a rig have aged, as a plot and in words: of those alone that have changed.
func agedBy(dir, rigName string) (plot template.HTML, words []string) {
	root := filepath.Dir(dir)
	if runs, err := filepath.Glob(filepath.Join(root, "*", session.JournalName)); err != nil || len(runs) < 2 {
		return "", nil // nothing to set beside it, and no index to be left there
	}
	ctx, cancel := context.WithTimeout(context.Background(), indexPatience)
	defer cancel()
	x, err := history.Open(ctx, root, false)
	if err != nil {
		return "", []string{fmt.Sprintf("What earlier runs say could not be read: %v.", err)}
	}
	defer x.Close()
	all, err := x.Of(ctx, rigName)
	if err != nil {
		return "", []string{fmt.Sprintf("What earlier runs say could not be read: %v.", err)}
	}
	trends := history.Trends(all)
	if len(trends) == 0 {
		return "", nil
	}
	for i := range trends {
		if trends[i].Clear() {
			words = append(words, trends[i].Words()+".")
		}
	}
	if len(words) == 0 {
		return "", []string{"No emitter has changed by more than can be told from the runs so far; 'trueup history' has the figures."}
	}
	var b bytes.Buffer
	if err := history.WritePlot(&b, rigName, all); err != nil {
		return "", words
	}
	svg := b.Bytes()
	if i := bytes.Index(svg, []byte("<svg")); i > 0 {
		svg = svg[i:] // no XML declaration within a page
	}
	return template.HTML(svg), words
}
