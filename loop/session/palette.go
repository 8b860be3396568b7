package session

import (
	"trueup/colorcalc"
	"trueup/loop/session/core"
)

// PaletteRead is what became of one setting of a palette that was read.
type PaletteRead struct {
	Fixture, Colour string
	UV              colorcalc.UV // of the colour
	// Outcome has in Found what the predicted setting gave, in Final where the unit stands after it was corrected.
	Outcome *Outcome
}

// PaletteReads are the settings that a run of the kind palette has read, in its order.
func PaletteReads(entries []Entry) (all []PaletteRead) {
	var at core.Reference
	for _, e := range entries {
		switch {
		case e.Kind == core.KindReference && e.Reference != nil:
			at = *e.Reference
		case e.Kind == core.KindOutcome && e.Outcome != nil && at.Name != "":
			all = append(all, PaletteRead{Fixture: e.Fixture, Colour: at.Name, UV: at.UV, Outcome: e.Outcome})
		}
	}
	return all
}
