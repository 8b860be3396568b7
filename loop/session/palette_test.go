package session

import (
	"testing"

	"trueup/loop/session/core"
)

// What was read between two passages in the dark that differ does not count; what another probe read does, and so does
// what was read after it. A word that names no probe calls all in question.
func TestReadingsOfAPaletteAreTakenBackWithTheirBackground(t *testing.T) {
	info := core.RunInfo{Fixtures: []FixtureInfo{{Name: "a", Probe: "left"}, {Name: "b", Probe: "right"}}}
	passage := func(kind core.Kind, probe, note string) Entry {
		return Entry{Kind: kind, Reading: &core.Measured{Probe: probe}, Note: note}
	}
	colour := func(name string) Entry {
		return Entry{Kind: core.KindReference, Reference: &core.Reference{Name: name}}
	}
	read := func(fixture string) Entry {
		return Entry{Kind: core.KindOutcome, Fixture: fixture, Outcome: &Outcome{}}
	}
	entries := []Entry{
		{Kind: core.KindRun, Run: &info}, passage(core.KindBackground, "left", "first"), passage(core.KindBackground, "right", "first"),
		colour("red"), read("a"), read("b"), passage(core.KindDrift, "left", ""),
		colour("blue"), read("a"), read("b"), passage(core.KindDrift, "left", "it jumped"), read("a"),
	}
	taken := func(entries []Entry) (words string) {
		for _, r := range PaletteReads(entries) {
			words += r.Fixture + " " + r.Colour + map[bool]string{true: " counts, ", false: " does not, "}[r.TakenBack == ""]
		}
		return words
	}
	if got, want := taken(entries), "a red counts, b red counts, a blue does not, b blue counts, a blue counts, "; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	if got, want := taken(append(entries, Entry{Kind: core.KindDrift, Note: "a light blinks"})), "a red does not, b red does not, a blue does not, b blue does not, a blue does not, "; got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}
