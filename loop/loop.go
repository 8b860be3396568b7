package loop

import (
	"time"

	"trueup/loop/solve"
)

// Visit is a stay at one fixture: decide, move, wait, read, learn, until the
// estimate calls an outcome. It does nothing by itself and knows no clock: the
// caller does what Step asks for and tells it what came of that. All times are on the
// caller's clock, counted from the start of its run.
//
// The lamp is left where the last decision put it.
type Visit struct {
	Match  *solve.Match
	Settle time.Duration // from arrival on the wire to steady light
	At     Arrival       // where the lamp stands; set it to where it stands on entry

	Final    solve.Decision // the last decision, at the end with outcome and reason
	Readings int            // all readings taken, those set aside too
	Steps    int            // how often the lamp was moved
}

// Arrival is the moment at which the wire reached a drive, and the drive that it
// really reached: limits come first, so that it may differ from the wish.
type Arrival struct {
	At   time.Duration `json:"at_ns"`
	Sent solve.Drive   `json:"sent"`
}

// Happened is what came of the last thing asked for. Neither field is set at the
// very start, nor when a reading was lost: then the visit decides again.
type Happened struct {
	Arrived *Arrival       // the lamp has moved
	Reading *solve.Reading // background off, noise attached, its drive filled in by the visit
}

// Next is what to do. Exactly one of the three is asked for.
type Next struct {
	Move solve.Drive   // send the lamp there and report the arrival
	Read time.Duration // bring a reading whose integration began at or after this moment
	Done bool          // the visit is over; Final says how

	Decision solve.Decision // why; the zero value after an arrival, which needs no new decision
	Account  *solve.Account // what the estimate made of a reading; nil if there was none
}

// Step takes what happened, learns from it, and decides. The same calls give the
// same answers, bit for bit.
func (v *Visit) Step(now time.Duration, h Happened) Next {
	var n Next
	if a := h.Arrived; a != nil {
		v.At = *a
		v.Steps++
		n.Read = a.At + v.Settle
		return n
	}
	if r := h.Reading; r != nil {
		r.Drive = v.At.Sent
		a := v.Match.Observe(*r)
		v.Readings++
		n.Account = &a
	}
	d := v.Match.Next(now)
	v.Final, n.Decision = d, d
	switch d.Action {
	case solve.Done:
		n.Done = true
	case solve.Move:
		n.Move = d.Drive
	default:
		n.Read = v.At.At + v.Settle
	}
	return n
}
