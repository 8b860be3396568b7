package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// How a fixture stood that was not read as found says so wherever it is told, and is no figure where readings are compared.
func TestComputedAsFoundIsNoReading(t *testing.T) {
	at := func(s int) time.Time { return time.Date(2026, 11, 26, 20, 0, s, 0, time.UTC) }
	uv := colorcalc.UV{U: 0.21, V: 0.48}
	read := &core.Measured{UV: colorcalc.UV{U: 0.214, V: 0.48}, Delta: 0.0040, SigmaUV: 0.0003}
	ended := func(name string, found *core.Stand) core.Entry {
		return core.Entry{Time: at(9), Kind: core.KindOutcome, Fixture: name, Outcome: &core.Outcome{Result: solve.Landed, Readings: 3, Found: found,
			Before: &core.Step{Action: "as found, not set", Codes: []uint32{1}}, Final: &core.Stand{UV: uv, Delta: 0.0002, SD: 0.0003}}}
	}
	seen := ended("seen", &core.Stand{UV: read.UV, Delta: read.Delta, SD: read.SigmaUV})
	seen.Outcome.Before.Action = "sent"
	s, err := session.Summarise([]session.Entry{
		{Time: at(1), Kind: core.KindRun, Run: &core.RunInfo{Rig: "three", Work: "match", Tolerance: 0.001, Fixtures: []core.FixtureInfo{{Name: "seen"}, {Name: "unseen"}, {Name: "odd"}}}},
		{Time: at(2), Kind: core.KindReference, Reference: &core.Reference{Name: "white", UV: uv}},
		{Time: at(3), Kind: core.KindFound, Fixture: "seen", Reading: read},
		seen, ended("unseen", &core.Stand{UV: colorcalc.UV{U: 0.218, V: 0.48}, Delta: 0.0080, SD: 0.0012, Computed: true}), ended("odd", nil),
		{Time: at(10), Kind: core.KindEnd},
	})
	if err != nil {
		t.Fatal(err)
	}
	var page, object bytes.Buffer
	if err := WritePage(&page, s, Extras{}); err != nil {
		t.Fatal(err)
	}
	if err := WriteRunJSON(&object, "", s, nil); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"0.0080<br><small>computed, ± 0.0012</small>", `data-l="as found">0.0040</td>`, `data-l="as found"><small>not read</small>`, "Matched without being read as found: 2 fixtures", "How 1 fixture stood is computed", "How 1 fixture stood is not told",
		"A cross, and no ring"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if n := strings.Count(object.String(), `"computed": true`); n != 1 {
		t.Errorf("%d figures of the JSON say that they are computed, want 1:\n%s", n, &object)
	}
	if all := AsFound(s); len(all) != 1 || all[0].Name != "seen" {
		t.Errorf("read as found: %+v, want the one that was", all)
	}
}
