package report

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// A rig that names its own filters is advised with those alone, as the journal keeps them: a transmittance beside shifts.
func TestAdviceIsTakenFromTheRigsFilters(t *testing.T) {
	to, at := colorcalc.XY{X: 0.3127, Y: 0.3290}, colorcalc.XY{X: 0.3457, Y: 0.3585} // D65 and D50 (CIE 15:2018, table 11.3)
	light, ok := spectrum.Illuminant("D50")
	if !ok {
		t.Fatal("no D50")
	}
	day, _ := spectrum.Illuminant("D65")
	pane := spectrum.Visible5.On(func(nm float64) float64 { return 0.5 * day.At(nm) / light.At(nm) }) // what turns the one into the other
	info := core.RunInfo{Rig: "r", Work: "match", Gels: core.KeepGels([]gel.Gel{{Name: "cool of ours", Mired: -40, Transmission: 0.7}, {Name: "pane", Spectrum: &pane}, {Name: "rose of ours", Duv: -0.01}})}
	text, err := json.Marshal(&info)
	if err != nil {
		t.Fatal(err)
	}
	var kept core.RunInfo
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	lamp := session.FixtureSummary{FixtureInfo: session.FixtureInfo{Name: "track"}, Light: &light,
		Outcome: &session.Outcome{Result: solve.OutOfReach, Final: &session.Stand{UV: at.UV(), Delta: at.UV().Dist(to.UV())}}}
	s := &session.Summary{Info: kept, Reference: &session.Reference{Name: "D65", UV: to.UV()}, Fixtures: []session.FixtureSummary{lamp}}
	words := FilterAdvice(s)
	if len(words) != 1 || !strings.HasPrefix(words[0], "track: of the rig's filters pane") {
		t.Errorf("%q", words)
	}
	var page bytes.Buffer
	if err := WritePage(&page, s, Extras{}); err != nil || !strings.Contains(page.String(), ">pane") || strings.Contains(page.String(), "nominal series") {
		t.Errorf("%v: the page asks other filters than the rig's", err)
	}
	s.Info.Gels = core.KeepGels([]gel.Gel{{Name: "warm of ours", Mired: 100, Transmission: 0.7}})
	if words := FilterAdvice(s); len(words) != 1 || words[0] != "track: none of the rig's list helps by what it costs" {
		t.Errorf("%q", words)
	}
}

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
