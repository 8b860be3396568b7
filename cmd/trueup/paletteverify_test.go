package main

import (
	"slices"
	"testing"

	"trueup/cmd/trueup/report"
)

// Few readings go round all fixtures, to what is most in doubt of each; what is out of reach or has no setting is not read.
func TestTheMostDoubtfulSettingsAreRead(t *testing.T) {
	e := func(fixture string, sd float64, reach bool) report.PaletteEntry {
		return report.PaletteEntry{Fixture: fixture, Status: report.Predicted, SD: sd, InReach: reach}
	}
	all := []report.PaletteEntry{e("a", 0.001, true), e("a", 0.005, true), e("a", 0.004, true), e("b", 0.002, true), e("b", 0.001, true), e("c", 0.01, false),
		{Fixture: "d", Status: "no setting: never read"}}
	for most, want := range map[int][]int{1: {1}, 2: {1, 3}, 3: {1, 2, 3}, 9: {0, 1, 2, 3, 4}} {
		if got := worthReading(all, most); !slices.Equal(got, want) {
			t.Errorf("%d readings go to %v, want %v", most, got, want)
		}
	}
}
