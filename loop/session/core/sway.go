package core

import (
	"fmt"
	"math"

	"trueup/colorcalc"
)

// sway tells a reference that goes to and fro, as a lamp does whose regulation hunts, from one that warms up: a lamp is matched to where
// it is, and by the time the others are it is somewhere else, round after round.
type sway struct {
	way   colorcalc.UV // how it went when it moved last; zero before that
	turns int          // how often it came back
	far   float64      // the farthest it went at once
}

// Figures of a reference that goes to and fro.
const (
	swayTurns  = 4   // as often has it come back, then it is said
	swayBack   = 0.5 // cosine of the angle to the way back: it came back, and did not only turn aside
	swayRounds = 3   // rounds of visits in all: those after them would find it elsewhere again
)

// moved takes in how the reference moved between two passages. It tells, once, that it goes to and fro.
func (s *sway) moved(from, to colorcalc.UV, sd, tolerance float64) bool {
	d := colorcalc.UV{U: to.U - from.U, V: to.V - from.V}
	far := math.Hypot(d.U, d.V)
	if far < max(tolerance/2, asItWas*sd) {
		return false
	}
	if was := math.Hypot(s.way.U, s.way.V); was > 0 && d.U*s.way.U+d.V*s.way.V < -swayBack*far*was {
		s.turns++
		s.far = max(s.far, far, was)
		s.way = d
		return s.turns == swayTurns
	}
	s.way = d
	return false
}

// sways tells whether it goes to and fro.
func (s *sway) sways() bool { return s.turns >= swayTurns }

// words say so.
func (s *sway) words() string {
	return fmt.Sprintf("the reference goes to and fro, by %.4f between two looks at it", s.far)
}

// advice is what helps beside such a reference.
func (s *sway) advice() string {
	return fmt.Sprintf("take a steadier one, or match all to where it was first (moving_reference: freeze), or to a tolerance of %.4f", math.Ceil(s.far*1e4)/1e4)
}
