package core

import "trueup/colorcalc"

// copies are readings of one probe that repeat the one before to the last digit. A meter that shows each result for a while, and
// sends what it shows, makes them: no reading of its own stands behind them.
//
// The feed sets such a copy aside by its text where the meter's description asks for that (new: change), before it comes here. Without that nobody knows of one
// equal reading whether it is a copy, so here none is set aside: by many of them it is told that there are copies, and what to change.
type copies struct {
	uv           colorcalc.UV // of the last reading
	y            float64      // its level, lux; 0: none
	pairs, equal int          // readings of much the same light as the one before, and those that were a copy of it
	whole        int          // those that differed in colour and in level: a quiet meter that rounds differs in one of them
	said         bool
}

// Figures of telling copies.
const (
	copiesFrom  = 12    // pairs tell
	copiesApart = 0.003 // u'v' between two readings that may still be of one light
)

// take takes in the next reading of the probe. It tells, once, whether most of them are copies.
func (k *copies) take(r *Reading) bool {
	if !r.HasY || r.TooDark || r.NotWhite || !(r.Y > 0) {
		k.y = 0
		return false
	}
	if k.y > 0 && r.UV.Dist(k.uv) < copiesApart {
		k.pairs++
		switch {
		case r.UV == k.uv && r.Y == k.y:
			k.equal++
		case r.UV != k.uv && r.Y != k.y:
			k.whole++
		}
	}
	k.uv, k.y = r.UV, r.Y
	// Of a meter that rounds what it reads of a quiet light, most that are not equal differ in one figure alone.
	if k.said || k.pairs < copiesFrom || 2*k.equal < k.pairs || 4*k.whole < 3*(k.pairs-k.equal) || k.whole < 2 {
		return false
	}
	k.said = true
	return true
}
