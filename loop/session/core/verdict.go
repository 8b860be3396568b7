package core

// Verdict is what a verification found of a lamp beside where an earlier run had left it; empty for other runs, and for
// a lamp that could not be read.
type Verdict string

// Verdicts.
const (
	Stands       Verdict = "stands"             // where it belongs, or where it was left then without landing
	StandsAtEdge Verdict = "stands at the edge" // where the match left it, too near the edge of the tolerance to tell inside from outside
	AtEdge       Verdict = "at the edge"        // as near to it, and not shown to be where the match left it
	Drifted      Verdict = "drifted"            // outside
)

// Stays tells whether a verification found a lamp where the match left it, too near the edge of the tolerance
// to tell inside from outside: it has not drifted.
func (o *Outcome) Stays() bool { return o != nil && o.Verdict == StandsAtEdge }
