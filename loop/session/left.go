package session

import "time"

// secondShare is what a second visit takes of a first one, until one was made: it is lit once more, and read
// where the first visit left it.
const secondShare = 0.6

// shareWeight is how many second visits that share is worth: the first of them may be an odd one.
const shareWeight = 3

// Left is how long the run will go on, by the pace of the visits so far; false while too few were made
// to tell.
func (p *Progress) Left(now time.Time) (time.Duration, bool) {
	first := &p.rounds[0]
	if p.Ended || first.n == 0 || first.n < min(3, p.Of) {
		return 0, false
	}
	began := first.began.Sub(p.Began) // what all fixtures need: background and reference
	each := first.last.Sub(first.began) / time.Duration(first.n)
	left := time.Duration(p.Of-first.n) * each
	since := now.Sub(first.last)
	if p.Twice {
		second := &p.rounds[1]
		again := time.Duration(secondShare * float64(each))
		if second.n > 0 {
			again = (second.last.Sub(second.began) + shareWeight*again) / time.Duration(second.n+shareWeight)
			since = now.Sub(second.last)
		}
		left += time.Duration(p.Of-second.n) * again
		left += began / 2 // read again after the round
		if second.began.IsZero() {
			left += began / 2 // and before it
		}
	}
	// The visit that is going on has taken some of it.
	return max(left-max(since, 0), 0), true
}
