package solve

import (
	"fmt"
	"time"

	"trueup/colorcalc"
)

// Target is what a head must reach.
type Target struct {
	UV      colorcalc.UV // CIE 1976
	Tol     float64      // radius in u'v'; 0 = 0.0010
	SigmaUV float64      // standard deviation per axis of the target itself (a measured reference), 0 = exact
	Y       float64      // level in the meter's unit; 0 = Options.Level decides
	TolY    float64      // tolerance of the level as a fraction; 0 = 0.02. Used only when Y is given
}

// Options of a match. DefaultOptions gives the usual ones.
type Options struct {
	Confidence float64       // P(true error <= Tol) at which a head has landed
	Sure       float64       // asked for instead while readings are few, so that a head is centred first; 0 = Confidence
	Wish       Wish          // for the redundancy of emitters
	Likeness   *Likeness     // what a wish by spectra chooses by; nil: the wish is MostWhite then
	Level      float64       // fraction 0..1 of the most light at the target's chromaticity
	Former     bool          // the head had landed where its first reading is taken: another setting must be read nearer
	LastStep   float64       // the match may end with a step that its caller reads on another visit, if P(true error <= Tol) is this after it; 0: it may not
	Budget     int           // readings after which the match ends as unsettled
	Earlier    int           // readings of this head that the prior holds already: for the words
	Past       *Past         // those readings, for stories that tell more by all of them; nil: not kept
	SigmaUV    float64       // meter noise per axis when a reading does not say
	SigmaLnY   float64       // noise of ln Y when a reading does not say
	Sample     time.Duration // what one more reading at the same point costs
	Settle     time.Duration // what a move costs beside the reading; 0 = readings are all that counts
	Seed       uint64        // of the draws that test "out of reach"
}

// DefaultOptions returns a fresh set: 95 % confidence, most white light, all
// but 3 % of the possible level, 40 readings.
func DefaultOptions() Options {
	return Options{
		Confidence: 0.95, Wish: MostWhite, Level: 0.97, Budget: 40,
		SigmaUV: 0.0005, SigmaLnY: 0.008, Sample: 300 * time.Millisecond, Seed: 1,
	}
}

// Reading is one measurement of the head at a drive.
type Reading struct {
	UV       colorcalc.UV  `json:"uv"`
	Y        float64       `json:"y"`
	HasY     bool          `json:"has_y"`
	SigmaUV  float64       `json:"sigma_uv"`  // noise per axis; 0 = Options.SigmaUV
	SigmaLnY float64       `json:"sigma_lny"` // 0 = Options.SigmaLnY
	RoundXY  float64       `json:"round_xy"`  // last digit of the meter's x and y, such as 1e-4; 0 = none
	At       time.Duration `json:"at"`        // end of the integration, from the start of the match
	Drive    Drive         `json:"drive"`     // what the wire really carried
	// Around is what the slots about the head's own carried, from AddressReach before its fixture's first on; those of the head itself are not
	// needed. Nil, and what is beyond it, count as 0.
	Around []byte `json:"around,omitempty"`
	// Dark is the drive at which the head was dark when the background was read that was taken off; nil: not known.
	Dark Drive `json:"dark,omitempty"`
}

// Action is what the match wants next.
type Action int

// The actions.
const (
	Move  Action = iota // send Decision.Drive, wait until settled, read
	Again               // read once more as it stands
	Done                // the match has ended: Decision.Outcome
)

// String gives the word of the journal.
func (a Action) String() string { return [...]string{"move", "again", "done"}[a] }

// Outcome is how a match ended.
type Outcome int

// The outcomes of the design; None while the match runs.
const (
	None       Outcome = iota
	Landed             // within tolerance with the asked confidence
	OutOfReach         // stands at the nearest reachable point
	Unsettled          // the light or the meter would not hold still
	Held               // a person, a limit or a fault stopped it
	Predicted          // set by the model for another visit, which reads it ([Options.LastStep])
)

// String gives the word of the journal.
func (o Outcome) String() string {
	return [...]string{"", "landed", "out of reach", "unsettled", "held", "predicted"}[o]
}

// MarshalText writes the outcome as its word; None is empty.
func (o Outcome) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads the word back.
func (o *Outcome) UnmarshalText(text []byte) error {
	for k := None; k <= Predicted; k++ {
		if k.String() == string(text) {
			*o = k
			return nil
		}
	}
	return fmt.Errorf("%q is no outcome", text)
}

// Decision is what to do next, and why.
type Decision struct {
	Action      Action       `json:"action"`
	Drive       Drive        `json:"drive"`           // where the head shall stand
	Predicted   colorcalc.UV `json:"predicted"`       // a prediction, not a measurement
	PredictedY  float64      `json:"predicted_y"`     // in the meter's unit; 0 = scale not known yet
	PredictedSD float64      `json:"predicted_sd"`    // of Predicted, per axis
	P           float64      `json:"p"`               // P(true error <= Tol) where the head stands now
	Outcome     Outcome      `json:"outcome"`         // None unless Done
	Reason      string       `json:"reason"`          // a sentence for the journal
	Nearest     colorcalc.UV `json:"nearest"`         // estimated chromaticity at the end
	Distance    float64      `json:"distance"`        // of Nearest from the target, u'v'
	Cause       Cause        `json:"cause,omitempty"` // likely fault, if one is suspected
}

// Verdict is what became of a reading.
type Verdict int

// The verdicts.
const (
	Accepted Verdict = iota
	Outlier          // implausible by the model
	Stale            // the same digits as before a move
	Refused          // not a possible light
)

// String gives the word of the journal.
func (v Verdict) String() string {
	return [...]string{"accepted", "outlier", "stale", "refused"}[v]
}

// Cause is a likely fault behind readings that do not fit.
type Cause string

// The causes that can be told apart.
const (
	NoCause      Cause = ""
	NotAnswering Cause = "not answering" // light does not follow the drive
	Swapped      Cause = "swapped emitters"
	WrongMode    Cause = "wrong mode"
	WrongLaw     Cause = "wrong law"
	LampDrift    Cause = "lamp drift"
	MeterNoise   Cause = "meter noise"
	Dark         Cause = "dark"
	Jumps        Cause = "light jumps" // between neighbouring drives
	DeadEmitter  Cause = "dead emitter"
	TintSign     Cause = "tint sign"            // the other way round than the profile says
	WrongScale   Cause = "wrong scale"          // kelvin for mired, or the other way
	WrongAddress Cause = "wrong address"        // by a slot or two
	AnotherMode  Cause = "another mode"         // of its menu: it takes its parameters from other slots
	Exchanged    Cause = "exchanged parameters" // x and y, hue and saturation, or colour temperature and tint
)

// Elsewhere tells whether a head takes its channels from other slots than the rig has them in: its light is then not what its profile foretells of the codes that were sent.
func (c Cause) Elsewhere() bool { return c == Swapped || c == WrongAddress || c == AnotherMode }

// Account is what a reading told.
type Account struct {
	Verdict       Verdict      `json:"verdict"`
	Predicted     colorcalc.UV `json:"predicted"`      // by the leading component before the reading
	Innovation    colorcalc.UV `json:"innovation"`     // read minus predicted, u'v'
	InnovationLnY float64      `json:"innovation_lny"` // 0 while the scale is unknown
	LevelSD       float64      `json:"level_sd"`       // of InnovationLnY, as it was foretold; 0 while the scale is unknown
	Mahalanobis   float64      `json:"mahalanobis"`    // squared, of all axes used
	Axes          int          `json:"axes"`           // 2 or 3
	Error         float64      `json:"error"`          // distance of the reading from the target
	Estimate      colorcalc.UV `json:"estimate"`       // after the reading
	EstimateSD    float64      `json:"estimate_sd"`    // per axis
	P             float64      `json:"p"`              // P(true error <= Tol) after the reading
	Words         string       `json:"words"`          // a sentence for the journal
	Cause         Cause        `json:"cause,omitempty"`
}
