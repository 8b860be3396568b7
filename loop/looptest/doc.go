// Package looptest plays many seeded matches in virtual time and scores them:
// ours, and the usual methods beside it, on the same lamps, the same meters and
// the same targets. It is a judge, so it knows the truth; what it judges does
// not.
//
// A case is one lamp, one meter and one target. A controller brings the lamp to
// the target. A class is a kind of case. Every reading counts, the confirming
// one too, and so does a reading that the meter dropped.
package looptest
