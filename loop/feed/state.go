package feed

import (
	"fmt"
	"maps"
	"time"
)

// State is what a feed is doing.
type State uint8

// The states of a feed.
const (
	Waiting State = iota // not connected, or connected and nothing read yet
	Live                 // readings arrive
	Stale                // connected, but no usable reading for a while
	Refused              // given up: trying again would not help
	Ended                // the input has come to its end
)

// String gives the state in one word.
func (s State) String() string {
	switch s {
	case Waiting:
		return "waiting"
	case Live:
		return "live"
	case Stale:
		return "stale"
	case Refused:
		return "refused"
	case Ended:
		return "ended"
	}
	return fmt.Sprintf("State(%d)", uint8(s))
}

// Status is a feed's state with its reasons and counts at one moment.
type Status struct {
	Name     string
	State    State
	Why      string // last reason for not being live; "" when live
	Last     time.Time
	Links    int  // how often the link came up
	Linked   bool // it is up now
	Accepted uint64
	SetAside map[Reason]uint64
	Clock    ClockStatus
	Probes   []string // names seen, in order of appearance
}

// Since is the status with the counts of what came after another one of the same feed alone.
func (s Status) Since(before Status) Status {
	s.Accepted -= before.Accepted
	s.SetAside = maps.Clone(s.SetAside)
	for r, n := range before.SetAside {
		if s.SetAside[r] -= n; s.SetAside[r] == 0 {
			delete(s.SetAside, r)
		}
	}
	return s
}

// ClockStatus says what is known about the instrument's clock.
type ClockStatus struct {
	Stamped bool          // readings carry a time of their own
	Agrees  bool          // and it is used
	Delay   time.Duration // smallest arrival minus stamp among the last readings; of several probes the largest
}
