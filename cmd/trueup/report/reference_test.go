package report

import (
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
)

// A lamp that the others were matched to has not failed, a mean is no reading more, and what
// was not done is not told.
func TestTheReportTellsWhatWasDone(t *testing.T) {
	lamp := core.FixtureInfo{Name: "key"}
	s, err := session.Summarise([]session.Entry{
		{Kind: core.KindRun, Run: &core.RunInfo{Mode: "by hand", Fixtures: []core.FixtureInfo{lamp}}},
		{Kind: core.KindReading, Fixture: "key", Reading: &core.Measured{}},
		{Kind: core.KindReference, Fixture: "key", Reference: &core.Reference{Name: "key", Readings: 1}}})
	if err != nil {
		t.Fatal(err)
	}
	if r := pageRows(s)[0]; r.Missed || r.Result != "the reference" || strings.Contains(Lead(s), "not matched") {
		t.Errorf("%+v, %s", r, Lead(s))
	}
	if text := strings.Join(how(s), " "); strings.Contains(text, "our own") || strings.Contains(text, "background was measured") {
		t.Error(text)
	}
	s, err = session.Summarise([]session.Entry{{Kind: core.KindRun, Run: &core.RunInfo{Version: core.JournalVersion}},
		{Kind: core.KindBackground, Reading: &core.Measured{}}, {Kind: core.KindBackground, Reading: &core.Measured{}},
		{Kind: core.KindBackground, Reading: &core.Measured{}, Note: "mean of 2 readings"}})
	if err != nil || s.Readings != 2 || s.Backgrounds != 1 {
		t.Errorf("%v: %d readings, %d backgrounds", err, s.Readings, s.Backgrounds)
	}
}
