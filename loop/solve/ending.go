package solve

import "math"

// Two emitters on each other's slots, and a lamp at another address or in another mode, leave nothing to match: where one of these stories is believed the match ends. They are
// asked only where the profile's own does not fit at all.

// ends tells whether the match ends where the story is believed.
func (r *rival) ends() bool { return r.cause == Swapped || r.elsewhere }

// distance is ln of the evidence over the next best that ends a match at which it is said which story it is: an address is what somebody then sets.
func (r *rival) distance() float64 { return max(rivalApart, r.ahead()) }

// ahead is ln of the evidence over every story that does not end a match. Two slots off looks much like two parameters exchanged.
func (r *rival) ahead() float64 {
	if r.elsewhere {
		return addressApart
	}
	return 0
}

// ending is the best of the stories that end a match.
type ending struct {
	lead  *Match  // nil: there is no reason to ask
	ln    float64 // of its evidence, less what choosing among all of its kind is worth; minus infinity where there is no reason to ask
	apart float64 // ln, how far the next best is behind
	next  *Match  // that one
}

// ending looks for that.
func (m *Match) ending() ending {
	e := ending{ln: math.Inf(-1)}
	second := e.ln
	among := func(stories []rival) {
		for i := range stories {
			told := m.retold(&stories[i])
			switch ll := told.evidence() - math.Log(float64(len(stories))); {
			case ll > e.ln:
				e.next, second, e.lead, e.ln = e.lead, e.ln, told, ll
			case ll > second:
				e.next, second = told, ll
			}
		}
	}
	n := len(m.log.taken)
	if m.as == nil && n >= swapFrom && n <= swapTo && m.fault.worst > misfit {
		among(m.exchanges())
	}
	if n+len(m.log.unseen) >= swapFrom && n <= addressTo && (m.fault.worst > misfit || len(m.log.unseen) > 0) {
		among(m.addresses())
		among(m.otherModes())
	}
	e.apart = e.ln - second
	return e
}

// named names the story, by which it is where the readings tell that; false: the next reading may tell.
func (e *ending) named(m *Match) bool {
	as, f := e.lead.as, &m.fault
	switch {
	case e.apart >= as.distance():
		f.name(as.cause, "%s", as.why)
	case len(m.log.taken) < swapAlike || e.next.as.cause != as.cause:
		return false
	case as.cause == Swapped:
		f.name(Swapped, "two emitters look swapped: the light responds as if they had each other's slots (wrong mode or wrong order in the profile); which two, its readings do not tell")
	case as.cause == AnotherMode:
		f.name(AnotherMode, "it looks to be in another mode of its menu; in which, its readings do not tell: look at it on the lamp")
	default:
		f.name(WrongAddress, "its address looks wrong by a slot or two; by which, its readings do not tell: look at it on the lamp")
	}
	return true
}
