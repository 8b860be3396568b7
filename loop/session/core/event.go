package core

import (
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
)

// Event is something that happened outside. Exactly the fields of its Kind are
// used.
type Event struct {
	Kind EventKind `json:"kind"`
	// At is when the core was told, on the run's clock: a monotonic clock that is 0
	// when the run begins. It never goes back; an earlier time counts as the last one.
	At time.Duration `json:"at_ns"`

	// Arrived and Refused: which head. Arrived: what stands on the wire, since when.
	// Resumed: When is the time of the last event before the run broke off.
	Head int           `json:"head,omitempty"`
	Sent solve.Drive   `json:"sent,omitempty"`
	When time.Duration `json:"when_ns,omitempty"`

	// Read and NoReading: the Ask this is the answer to.
	Ask     uint64   `json:"ask,omitempty"`
	Reading *Reading `json:"reading,omitempty"`

	// Why is the reason of Refused, NoReading, Conflict, Stop and Fault, in words.
	Why string `json:"why,omitempty"`
}

// EventKind says what happened.
type EventKind string

// The kinds of event.
const (
	Begin     EventKind = "begin"      // the door is open and the meters answer: work
	Resumed   EventKind = "resumed"    // the run had broken off, and goes on: nothing is on its way
	Arrived   EventKind = "arrived"    // the wire has reached a head's wish
	Refused   EventKind = "refused"    // a wish was not taken, or the head is held
	Read      EventKind = "read"       // a reading that was asked for
	NoReading EventKind = "no reading" // it did not come within the time-out
	Tick      EventKind = "tick"       // time has passed
	Conflict  EventKind = "conflict"   // another source owns the light: readings were void meanwhile
	Hold      EventKind = "hold"       // a person: stay as you are, begin nothing new
	GoOn      EventKind = "go on"      // a person: the end of Hold
	Skip      EventKind = "skip"       // a person: leave the present fixture
	Next      EventKind = "next"       // a person: the meter is at the next point
	Undo      EventKind = "undo"       // a person: the last value typed was wrong
	Stop      EventKind = "stop"       // a person or a signal ends the run
	Fault     EventKind = "fault"      // something broke: the run can not go on
)

// Reading is one measurement as it came, before anything is taken off.
type Reading struct {
	At          time.Duration `json:"at_ns"` // end of the integration, on the run's clock
	Integration time.Duration `json:"integration_ns"`
	Told        bool          `json:"window_told,omitempty"` // Integration is what the instrument tells, not the most that it may be
	Probe       string        `json:"probe,omitempty"`
	Seq         uint64        `json:"seq,omitempty"` // the instrument's own count
	UV          colorcalc.UV  `json:"uv"`
	Y           float64       `json:"y"` // lux, or the instrument's own unit
	HasY        bool          `json:"has_y"`
	RoundXY     float64       `json:"round_xy,omitempty"`  // last digit of x and y; 0 = none
	TooDark     bool          `json:"too_dark,omitempty"`  // the instrument tells no colour: too little light
	NotWhite    bool          `json:"not_white,omitempty"` // the instrument tells no colour: it is none that colour temperature and Duv can tell
	// Spectrum is what a spectrometer read, as it came; nil: none was told.
	Spectrum *spectrum.Kept `json:"spectrum,omitempty"`
	black    bool           // of a dark probe: see inTheDark
}

// inTheDark is a reading of a dark probe. One that is too dark for the meter tells a level all the same: that there is next to no light, however the
// instrument puts it. So a light that is put on there later is seen to have come.
func (r Reading) inTheDark() Reading {
	if r.TooDark {
		r.UV, r.Y, r.HasY, r.TooDark, r.black = colorcalc.UV{}, 0, true, false, true
	}
	return r
}

// black tells whether most readings of a dark probe were too dark for the meter.
func black(got []Reading) bool {
	n := 0
	for i := range got {
		if got[i].black {
			n++
		}
	}
	return 2*n > len(got)
}

// tellsLevel tells whether the reading has a level that can be worked with.
func (r *Reading) tellsLevel() bool { return r.HasY && !r.TooDark }

// XYZ gives tristimulus values; Y is 1 where the reading has no level.
func (r *Reading) XYZ() colorcalc.XYZ {
	y := r.Y
	if !r.HasY {
		y = 1
	}
	return r.UV.XYZ(y)
}

// Do is what the shell has to do, in this order: put the entries on disk, drop what is
// not waited for any more, send the wishes, ask for readings, and come back with a Tick at
// Wake at the latest.
type Do struct {
	Entries []Entry
	Drop    []uint64 // asks whose answers are not wanted any more
	Forget  []int    // heads whose earlier wishes are not waited for any more
	Wishes  []Wish
	Asks    []Ask
	Wake    time.Duration // 0: nothing is waited for
	Done    bool          // the run is over; Err says whether in order
	Err     error         // why it ended early; wraps ErrStopped where a person ended it
}

// Wish asks for codes of a head. The answer is Arrived or Refused.
type Wish struct {
	Head  int
	Codes solve.Drive
}

// Ask asks for one reading of a probe whose integration began at or after a
// moment of the run's clock. The answer is Read or NoReading.
type Ask struct {
	ID    uint64 // never 0
	Probe string
	After time.Duration
	Dark  bool // the lamps are out: a reading that is too dark for a colour serves as well
	Faint bool // a lamp is lit, but may give no light: such a reading serves too
	// Coloured: a lamp is lit, but may be of a colour that its meter can not tell: such a reading serves too.
	Coloured bool
}
