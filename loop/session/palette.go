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
	// TakenBack says why the outcome does not count: the background was another than was taken off; "" where it counts.
	TakenBack string
}

// PaletteReads are the settings that a run of the kind palette has read, in its order. A run of this kind goes back to
// none of them: what was read at a probe between two passages in the dark that differ is taken back.
func PaletteReads(entries []Entry) (all []PaletteRead) {
	var at core.Reference
	probes, since := map[string]string{}, map[string]int{} // of each fixture; how many had been read at the last passage
	for _, e := range entries {
		switch {
		case e.Kind == core.KindRun && e.Run != nil:
			for _, f := range e.Run.Fixtures {
				probes[f.Name] = f.Probe
			}
		case e.Kind == core.KindBackground && e.Reading != nil:
			since[e.Reading.Probe] = len(all)
		case e.Kind == core.KindDrift:
			takeBack(all, &e, probes, since)
		case e.Kind == core.KindReference && e.Reference != nil:
			at = *e.Reference
		case e.Kind == core.KindOutcome && e.Outcome != nil && at.Name != "":
			all = append(all, PaletteRead{Fixture: e.Fixture, Colour: at.Name, UV: at.UV, Outcome: e.Outcome})
		}
	}
	return all
}

// takeBack takes back what a passage in the dark calls in question; one that names no probe calls all in question.
func takeBack(all []PaletteRead, e *Entry, probes map[string]string, since map[string]int) {
	from, probe := 0, ""
	if e.Reading != nil {
		probe = e.Reading.Probe
		from, since[probe] = since[probe], len(all)
	}
	if e.Note == "" {
		return
	}
	for i := from; i < len(all); i++ {
		if r := &all[i]; probe == "" || probes[r.Fixture] == probe {
			r.TakenBack = e.Note
		}
	}
}
