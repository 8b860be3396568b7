package report

import (
	"bytes"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// The report says of a lamp that is out of reach which filters would bring it nearer, at what loss, and what another
// target for all would cost; of a rig in which all have landed it says nothing of that.
func TestTheReportSaysWhatWouldHelp(t *testing.T) {
	to, err := colorcalc.White(4300, 0)
	if err != nil {
		t.Fatal(err)
	}
	at, err := colorcalc.White(3900, 0.006) // too warm and too green
	if err != nil {
		t.Fatal(err)
	}
	lamp := session.FixtureSummary{FixtureInfo: session.FixtureInfo{Name: "track"},
		Outcome: &session.Outcome{Result: solve.OutOfReach, Final: &session.Stand{UV: at.UV(), Delta: at.UV().Dist(to.UV())}}}
	s := &session.Summary{Info: core.RunInfo{Rig: "r", Work: "match"}, Reference: &session.Reference{Name: "4300 K", UV: to.UV()}, Fixtures: []session.FixtureSummary{lamp}}
	x := Extras{Fixtures: 2, Common: []session.Choice{
		{UV: to.UV(), Reached: 1, Out: []session.Shortfall{{Fixture: "track", Off: 0.0123}}},
		{UV: at.UV(), Off: 0.0123, Reached: 2, Lux: 240, Weakest: "track"}}}
	h := helpOf(s, &x)
	if h == nil || len(h.Lamps) != 1 || !strings.Contains(h.Lamps[0].Filters, "cool") || !strings.Contains(h.Lamps[0].Filters, "minus green") ||
		h.Lamps[0].Left >= h.Lamps[0].Off || h.Lamps[0].Stops == "" || len(h.Notes) == 0 {
		t.Fatalf("%+v", h)
	}
	var page bytes.Buffer
	if err := WritePage(&page, s, x); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"What would help", "minus green", "best common of all", "240 lux at the probe, by track", "track (0.0123)"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page has no %q", want)
		}
	}
	s.Fixtures[0].Outcome = &session.Outcome{Result: solve.Landed, Final: &session.Stand{UV: to.UV()}}
	page.Reset()
	if err := WritePage(&page, s, Extras{}); err != nil || strings.Contains(page.String(), "What would help") || strings.Contains(page.String(), "have aged") {
		t.Errorf("%v: it helps where nothing is missed", err)
	}
}
