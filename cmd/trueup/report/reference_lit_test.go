package report

import (
	"slices"
	"strings"
	"testing"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// Where the reference is a lamp that the desk must light too, the settings sheet and the cue hold its values: without
// them the look is not whole. A reference that nobody drives has none.
func TestADrivenReferenceIsOnSheetAndCue(t *testing.T) {
	at := func(slot uint16, value uint8) *core.Step {
		return &core.Step{Settings: []session.Setting{{Name: "dimmer", Value: float64(value), Unit: "code"}}, Slots: []session.SlotValue{{Universe: 1, Slot: slot, Value: value}}}
	}
	key := session.FixtureSummary{FixtureInfo: session.FixtureInfo{Name: "key", Address: "1/1", DeskChannel: "11", Lit: at(1, 77)}}
	wash := session.FixtureSummary{FixtureInfo: session.FixtureInfo{Name: "wash", Address: "1/2", DeskChannel: "21"},
		Outcome: &session.Outcome{Result: solve.Landed, Before: at(2, 0), After: at(2, 99), Final: &session.Stand{}}}
	s := &session.Summary{Reference: &session.Reference{Name: "key"}, Fixtures: []session.FixtureSummary{key, wash}}
	rows := Sheet(s)
	if len(rows) != 2 || rows[0].Fixture != "key" || rows[0].After != 77 || rows[0].SlotsAfter != "1/1=77" || rows[0].Result != "the reference" {
		t.Errorf("%+v", rows)
	}
	cue, left, err := Cue(s, CueOptions{Cue: "901"})
	if err != nil || len(left) > 0 || !strings.Contains(string(cue), "11@H4D 21@H63") || !strings.Contains(string(cue), "1/1 on; the reference") {
		t.Errorf("%v, %v:\n%s", err, left, cue)
	}
	s.Fixtures[0].Lit = nil
	if rows := Sheet(s); len(rows) != 1 {
		t.Errorf("%+v", rows)
	}
	if cue, _, _ := Cue(s, CueOptions{Cue: "901"}); slices.Contains(strings.Fields(string(cue)), "11@H4D") {
		t.Errorf("%s", cue)
	}
}
