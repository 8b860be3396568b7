package plan

import (
	"fmt"
	"strings"
)

// Wish is what the freedom of four or more emitters is spent on.
type Wish int

// The wishes. Alike and BestRendering need spectra (see Likeness); a head without them is
// planned for MostWhite.
const (
	// MostWhite takes as much of the light as possible from white emitters. It is the default for how well
	// it lands and not for how it looks: for cameras it is no better than MostOutput, and its Rf is lower.
	MostWhite     Wish = iota
	MostOutput         // the brightest drive of that chromaticity
	LeastMoved         // stay as near as possible to the drive as found
	HoldLevel          // the least drive for the level asked for, so that most room is left to raise it
	Alike              // look most like the reference, at a price in light
	BestRendering      // the best Rf of CIE 224, at a price in light
)

var wishWords = map[Wish]string{MostWhite: "most white", MostOutput: "most light", LeastMoved: "least moved", HoldLevel: "level", Alike: "likeness", BestRendering: "rendering"}

// String gives the word of the rig file and of the journal.
func (w Wish) String() string { return wishWords[w] }

// MarshalText writes the word.
func (w Wish) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// UnmarshalText reads it back.
func (w *Wish) UnmarshalText(text []byte) error {
	for k, word := range wishWords {
		if strings.EqualFold(word, string(text)) {
			*w = k
			return nil
		}
	}
	return fmt.Errorf("%q is nothing to spend emitters on", text)
}

// BySpectra tells whether a wish needs spectra.
func (w Wish) BySpectra() bool { return w == Alike || w == BestRendering }
