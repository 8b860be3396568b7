package session

import (
	"slices"
	"time"
)

// A second visit is lit once, and read where the first visit left it and once more, one in five twice more. secondShare is what its fades take of
// those of a first visit that has read the fixture so often too, and moved it in between; one that has read it once, and left
// the rest to the second, has faded as often.
const (
	secondShare    = 0.7
	secondReadings = 2.2
)

// shareWeight is how many second visits that share is worth: some of the first may be odd ones, at the edge of what they reach.
const shareWeight = 10

// secondVisit is how long a second visit takes by what the first ones, each so long, waited for.
func (p *Progress) secondVisit(each time.Duration) time.Duration {
	s := p.first
	if s.Readings == 0 || s.Total() == 0 {
		return time.Duration(secondShare * float64(each))
	}
	fades := 1 - (s.Meter()+s.Settle).Seconds()/s.Total().Seconds()
	readings := max(float64(s.Readings)/float64(p.rounds[0].n), 1)
	share := max(1-(1-secondShare)*(readings-1), secondShare)
	more := secondReadings / readings
	if more > 1 { // while one lane reads again, others fade
		more = 1 + (more-1)/float64(max(p.lanes, 1))
	}
	return time.Duration(float64(each) * (share*fades + (1-fades)*more))
}

// A second visit that takes so much longer than usual watches its fixture, which is asked of the first three of a type at most, or of all.
const (
	watchedFor = 6 * time.Second
	manyAgain  = 7 // second visits, of which three are not most
)

// watched is what second visits have taken beyond the usual time where few have: the others will not. Before manyAgain have ended, the
// usual time is what is expected.
func (p *Progress) watched(expected time.Duration) (more time.Duration) {
	if p.watch == 0 && !p.watches {
		return 0
	}
	usual := expected
	if len(p.again) >= manyAgain {
		s := slices.Sorted(slices.Values(p.again))
		usual = s[len(s)/2]
	}
	for _, d := range p.again {
		if d > usual+watchedFor {
			more += d - usual
		}
	}
	if more /= time.Duration(max(p.lanes, 1)); !p.watches {
		more = min(more, p.watch)
	}
	return more
}

// Left is how long the run will go on, by the pace of the visits so far; false while too few were made
// to tell.
func (p *Progress) Left(now time.Time) (time.Duration, bool) {
	first := &p.rounds[0]
	if p.Ended || first.n == 0 || first.n < min(3, p.Of) {
		return 0, false
	}
	began := first.began.Sub(p.Began) // what all fixtures need: background and reference
	each := time.Duration(float64(first.last.Sub(first.began)) / p.visitsOf(first, 0))
	left := time.Duration(p.Of-first.n) * each
	since := now.Sub(first.last)
	if p.Twice {
		second := &p.rounds[1]
		again := p.secondVisit(each)
		watched := p.watched(again)
		if second.n > 0 {
			again = time.Duration(float64(second.last.Sub(second.began)-watched+shareWeight*again) / p.visitsOf(second, shareWeight))
			since = now.Sub(second.last)
		}
		left += time.Duration(p.Of-second.n)*again + max(p.watch-watched, 0)
		left += began / 2 // read again after the round
		if second.began.IsZero() {
			left += began / 2 // and before it
		}
	}
	// The visit that is going on has taken some of it.
	return max(left-max(since, 0), 0), true
}

// visitsOf a round are those that ended, and of the other lanes' that were going on then, half.
func (p *Progress) visitsOf(r *round, more float64) float64 {
	return float64(r.n) + more + float64(max(p.lanes-1, 0))/2
}
