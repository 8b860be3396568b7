package session

import (
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Unit is one head of one fixture, compiled from its profile: what the solver
// must know of it, and how its codes are told to people and to the wire.
type Unit struct {
	Info FixtureInfo
	Head int // as the wire counts heads; negative: cannot be sent to
	Spec solve.Spec
	// Level is the fraction of the most light at which the unit is matched.
	Level float64
	// Headroom is how much more light the unit's cap allows than its level, as a
	// factor of at least 1.
	Headroom float64
	// Dark are the codes that make the unit dark, colour left as it is; nil
	// when it cannot be darkened.
	Dark func(now solve.Drive) solve.Drive
	// Rest is where the unit stands before it is lit for the first time.
	Rest solve.Drive
	// Lit is how the unit stands when it is the reference itself.
	Lit solve.Drive
	// Found is how the desk has the unit, where one has it lit; nil otherwise.
	Found solve.Drive
	// Decode reads the unit's codes out of a universe.
	Decode func(slots *[512]byte) (solve.Drive, error)
	// Settle is from arrival on the wire to steady light; SettleKnown tells
	// whether the profile says so, or it is a guess to be measured.
	Settle      time.Duration
	SettleKnown bool
	// Type is the same for units of one profile and mode: what is learnt of one
	// holds for the next. Empty: nothing is shared.
	Type string
	// Settings tells codes in the fixture's own units; Slots as raw slots, with
	// all that must stand beside them for the light to come out.
	Settings func(solve.Drive) []Setting
	Slots    func(solve.Drive) []SlotValue

	// What the run has learnt.
	prior   *solve.Prior
	found   *Measured
	before  *Step
	outcome *Outcome
	final   solve.Drive
	at      arrival
	tally   tally
}

type arrival struct {
	drive solve.Drive
	when  time.Time
	read  time.Time // of the last reading there
}

// tally counts what a unit has cost.
type tally struct {
	readings, steps int
	began           time.Time
	last            colorcalc.UV
	lux             float64
}
