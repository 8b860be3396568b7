package solve

// phase is where the search for the target stands.
type phase int

const (
	approaching phase = iota // the law of the mode leads
	seeking                  // the law saw no way: drives are looked at for what they give
	confirming               // at the nearest drive of a lamp that jumps: readings only
	phases
)

// event is what a decision means for the search.
type event int

const (
	looked     event = iota // a move to see whether another drive comes nearer
	wentMiddle              // a move to the middle of the range, to see whether the lamp answers
	stayed                  // back to the nearest point, or one more reading there
	wentBack                // back to the best reading before a verdict
	halved                  // half the way back after a move that led further off
	jumped                  // the lamp does between two drives what it does at neither
	edged                   // a move at the edge of what it reaches to a setting likelier inside
	past                    // its last steps had no answer: the law leads on, and the lamp does not follow
	events
)

// transitions says where each event leads from each phase. No event leads back:
// a search ends.
var transitions = [events][phases]phase{
	//           approaching  seeking     confirming
	looked:     {seeking, seeking, confirming},
	wentMiddle: {approaching, seeking, confirming},
	stayed:     {approaching, seeking, confirming},
	wentBack:   {approaching, seeking, confirming},
	halved:     {approaching, seeking, confirming},
	jumped:     {confirming, confirming, confirming},
	edged:      {approaching, seeking, confirming},
	past:       {seeking, seeking, confirming},
}

// search is the phase with how often each event happened: every event is bounded,
// by the figures of who decides on it.
type search struct {
	phase phase
	count [events]int
}

func (s *search) on(e event) {
	s.count[e]++
	s.phase = transitions[e][s.phase]
}
