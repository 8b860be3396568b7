package core

import "fmt"

// A meter that tells colour temperature and Duv alone has no figures for a light far from white. A lamp may stand in such a colour as found, and to wait there for a
// figure would be to wait for ever: the match goes on without it, for near the target the meter has one. Only where it has none there either is the lamp given up,
// as one that gives no light is (see dim).

// notWhites readings in a row are enough to go on from a setting that is to be left anyway: one may be of a fade, or odd.
const notWhites = 2

// noWhite says that a reading is of a light that its meter can not tell; nil: it has figures.
func noWhite(r *Reading) *weak {
	if !r.NotWhite {
		return nil
	}
	return &weak{coloured: true, why: fmt.Sprintf("a colour and not a white: %s tells colour temperature and Duv alone, and has no figures for it", atProbe(r.Probe))}
}

// leaves tells whether a setting that is to be left anyway can be, after so many readings in a row that told nothing there.
func (w *weak) leaves(times int) bool { return w.coloured && times >= notWhites }
