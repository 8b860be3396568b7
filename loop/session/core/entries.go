package core

import (
	"encoding/json"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
)

// Entry is one line of the journal: what happened, to which fixture, when. Only
// the part that its Kind names is set. The journal holds everything that was
// measured and everything that was sent; the report, the settings sheet and a
// resumed run are made from it and from nothing else.
type Entry struct {
	Seq     uint64    `json:"seq"`
	Time    time.Time `json:"time"`
	Kind    Kind      `json:"kind"`
	Fixture string    `json:"fixture,omitempty"`
	Note    string    `json:"note,omitempty"`

	Run       *RunInfo   `json:"run,omitempty"`
	Reference *Reference `json:"reference,omitempty"`
	Step      *Step      `json:"step,omitempty"`
	Reading   *Measured  `json:"reading,omitempty"`
	Account   *Account   `json:"account,omitempty"`
	Outcome   *Outcome   `json:"outcome,omitempty"`
	Spending  *Spending  `json:"spending,omitempty"`
	Point     *PointRead `json:"point,omitempty"`
	// Unwatched is said at the end of a match: which lamps may have changed after they were read, in words; "" for none.
	Unwatched string `json:"unwatched,omitempty"`
	// Watching is how much longer the second round takes since the first of each type are watched unasked; 0: it is not that.
	Watching time.Duration `json:"watching_ns,omitempty"`

	// Event is what happened, on the first entry that came of it. The events alone
	// play the run again. Journals of version 1 have none.
	Event *Event `json:"event,omitempty"`
}

// Kind says what an entry records.
type Kind string

// The kinds of entry.
const (
	KindRun        Kind = "run"        // what is about to be done, with which limits
	KindBackground Kind = "background" // a probe with every fixture of the run dark
	KindSpill      Kind = "spill"      // what lamps throw on the probes of others, before lanes go on side by side
	KindReference  Kind = "reference"  // the light everything is matched to
	KindSettle     Kind = "settle"     // readings that measure a dead time; they count for nothing else
	KindFound      Kind = "found"      // a fixture as found, before any matching
	KindStep       Kind = "step"       // parameters decided on, written before they are sent
	KindSent       Kind = "sent"       // what the governor let through, when it had arrived
	KindReading    Kind = "reading"    // one reading, as it came
	KindAside      Kind = "set aside"  // a reading that was not used, and why
	KindAccount    Kind = "account"    // what the estimate made of that reading
	KindOutcome    Kind = "outcome"    // how a fixture ended
	KindVerify     Kind = "verify"     // a fixture read again after the whole rig was done
	KindClaim      Kind = "claim"      // what is claimed of a landed fixture at the end of the run
	KindLevel      Kind = "level"      // the common level that all are brought to
	KindPoint      Kind = "point"      // a point of the lit surface: where the meter is wanted, and what it read there
	KindSpend      Kind = "spend"      // what likeness or rendering costs in light, predicted
	KindDrift      Kind = "drift"      // the background read again at the end
	KindConflict   Kind = "conflict"   // another source owns the light: readings are void
	KindUndo       Kind = "undo"       // readings of a fixture up to here do not count
	KindHold       Kind = "hold"       // a person holds the run, or lets it go on
	KindPause      Kind = "pause"      // the meter is silent, or reads again
	KindResume     Kind = "resume"     // the run had broken off, and goes on
	KindEvent      Kind = "event"      // something happened that led to nothing
	KindStop       Kind = "stop"       // a person, a signal or a fault ended the run early
	KindEnd        Kind = "end"        // the run ended in order
)

// JournalVersion is the format that this program writes. Version 1 (no version
// in its run entry) holds no events, and shows figures of zero where nothing was
// measured; it can be read, not played again.
const JournalVersion = 2

// RunInfo opens a journal: enough to read it without the files it came from.
type RunInfo struct {
	Version   int           `json:"version,omitempty"` // of the journal: JournalVersion; 0 is 1
	Program   string        `json:"program"`
	Rig       string        `json:"rig"`
	RigFile   string        `json:"rig_file"`
	RigPath   string        `json:"rig_path,omitempty"` // of the rig file, from the run's folder; "" where it is not known
	RigSHA256 string        `json:"rig_sha256"`
	Work      string        `json:"work"` // survey, match or verify
	Mode      string        `json:"mode"` // own or overlay
	Priority  uint8         `json:"priority"`
	Rehearsal bool          `json:"rehearsal,omitempty"`
	Universes []uint16      `json:"universes"`
	Target    string        `json:"target"`
	Tolerance float64       `json:"tolerance_uv"`
	Level     float64       `json:"level_fraction"` // of full light output
	Limits    []string      `json:"limits"`
	Rates     *Rates        `json:"rates,omitempty"`            // nil in journals of before
	Corrected []string      `json:"corrected_probes,omitempty"` // how, in words
	Unaligned string        `json:"unaligned_probes,omitempty"` // probes that were never brought into agreement, and what that may make, in words
	Fixtures  []FixtureInfo `json:"fixtures"`
	Gels      []Gel         `json:"gels,omitempty"` // the filters that the rig says are to be had
	Core      *Config       `json:"core,omitempty"` // all that the run began from
}

// Rates are the limits on speed: light as a fraction of full, colour parameters of their range, each a second.
type Rates struct {
	Rise   float64 `json:"rise"`
	Fall   float64 `json:"fall"`
	Colour float64 `json:"colour"`
}

// FixtureInfo is a fixture as the rig file and its profile describe it.
type FixtureInfo struct {
	Name        string   `json:"name"`
	Profile     string   `json:"profile"`
	Mode        string   `json:"mode,omitempty"`
	Address     string   `json:"address,omitempty"`
	DeskChannel string   `json:"desk_channel,omitempty"`
	Probe       string   `json:"probe,omitempty"`
	Unit        string   `json:"unit,omitempty"`       // its serial, by which it is known in any rig
	Parameters  []string `json:"parameters,omitempty"` // names, in the order of a Drive
	// Held is what else must stand for the parameters to do their work: pinned
	// slots, and what all heads of the fixture share.
	Held []Setting `json:"held,omitempty"`
	// Lit is how the reference is lit, where it is driven: the look of the run holds with it. Nil of every other.
	Lit    *Step `json:"lit,omitempty"`
	Fixed  bool  `json:"fixed,omitempty"` // cannot be changed
	ByHand bool  `json:"by_hand,omitempty"`
	// Col and Row are its place in a wall or ceiling, counted from 1 at the top left; 0 = none.
	Col int `json:"col,omitempty"`
	Row int `json:"row,omitempty"`
	// LeftOut says that this run was asked not to touch it.
	LeftOut bool `json:"left_out,omitempty"`
}

// Reference is the light everything is matched to, as measured or as named.
type Reference struct {
	Name     string       `json:"name"`
	UV       colorcalc.UV `json:"uv"`
	SigmaUV  float64      `json:"sigma_uv"` // standard error of UV, per axis
	Lux      float64      `json:"lux,omitempty"`
	Readings int          `json:"readings"`
	// Frozen: UV is of the first readings, whatever the reference did since. Moved is how far
	// from there it was read last.
	Frozen bool    `json:"frozen,omitempty"`
	Moved  float64 `json:"moved_uv,omitempty"`
	// MeterSigmaUV is the scatter of one reading about the mean, per axis.
	MeterSigmaUV float64 `json:"meter_sigma_uv,omitempty"`
	// Spectrum is the mean of its readings, where a wish asks for it and a spectrometer told them.
	Spectrum *spectrum.Kept `json:"spectrum,omitempty"`
}

// Step is a setting: parameters as codes of the mode's channels, and what the
// estimate predicts for them.
type Step struct {
	Action      string       `json:"action"`
	Codes       []uint32     `json:"codes"`
	Settings    []Setting    `json:"settings,omitempty"` // in the fixture's own units
	Slots       []SlotValue  `json:"slots,omitempty"`
	Predicted   colorcalc.UV `json:"predicted_uv"`
	PredictedSD float64      `json:"predicted_sd_uv,omitempty"`
	Probability float64      `json:"probability,omitempty"`
	Words       string       `json:"words,omitempty"`
}

// Setting is one parameter in the unit of the fixture's own menu or manual,
// rounded to what one of its codes is worth.
type Setting struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit,omitempty"`
}

// SlotValue is one raw slot as it stands on the wire.
type SlotValue struct {
	Universe uint16 `json:"universe"`
	Slot     uint16 `json:"slot"`
	Value    uint8  `json:"value"`
}

// Measured is one reading, with the background already taken off where the
// feed tells a level and a background was read.
type Measured struct {
	UV           colorcalc.UV `json:"uv"`
	RawUV        colorcalc.UV `json:"raw_uv"`
	Lux          float64      `json:"lux,omitempty"`
	RawLux       float64      `json:"raw_lux,omitempty"`
	Probe        string       `json:"probe,omitempty"`
	MeterSeq     uint64       `json:"meter_seq,omitempty"`
	IntegrationS float64      `json:"integration_s,omitempty"`
	SigmaUV      float64      `json:"sigma_uv"`
	Delta        float64      `json:"delta_uv,omitempty"` // to the target
	Awaited      bool         `json:"awaited,omitempty"`  // its fixture stood and was waited for, to see whether it keeps its colour
	Early        bool         `json:"early,omitempty"`    // it began before all light stood, and what should be left of the light before is taken off
}

// Glimpse tells of the entry of a reading that was under way while a setting arrived: it shows when a lamp answers, and nothing waited for it.
func (e *Entry) Glimpse() bool { return e.Kind == KindSettle && e.Reading != nil && e.Note != "" }

// Account is what the estimate made of a reading.
type Account struct {
	Verdict    string  `json:"verdict"`
	Innovation float64 `json:"innovation_uv"`
	Words      string  `json:"words"`
}

// Outcome is how a fixture ended, in design's words, with its proof. A figure
// that no reading stands behind is not there: Found and Final are nil until the fixture
// was read, Before and After until it stood somewhere.
type Outcome struct {
	Result      solve.Outcome `json:"result"` // landed, out of reach, unsettled, held
	Reason      string        `json:"reason,omitempty"`
	Verdict     Verdict       `json:"verdict,omitempty"` // of a verification; journals of older programs have none
	Found       *Stand        `json:"found,omitempty"`   // by the first reading, or computed
	Final       *Stand        `json:"final,omitempty"`   // by the estimate after all readings, not the last reading
	Probability float64       `json:"probability"`       // of lying within tolerance
	Readings    int           `json:"readings"`
	Steps       int           `json:"steps"`
	Seconds     float64       `json:"seconds"`
	Before      *Step         `json:"before,omitempty"`
	After       *Step         `json:"after,omitempty"`
	Words       string        `json:"words,omitempty"` // the difference in plain words
	Advice      string        `json:"advice,omitempty"`
	// Likeness is predicted, by the learnt light of the emitters and their spectra; nil: not known.
	Likeness *Predicted `json:"predicted_likeness,omitempty"`
}

// Stand is where a light stood, as measured, or computed where it says so.
type Stand struct {
	UV    colorcalc.UV `json:"uv"`
	Delta float64      `json:"delta_uv"`        // distance from the target
	SD    float64      `json:"sd_uv,omitempty"` // of UV, per axis; 0 = not estimated
	Lux   float64      `json:"lux,omitempty"`   // 0 = the feed tells no level
	// Computed: it was not read there; this is what readings at other settings say of it.
	Computed bool `json:"computed,omitempty"`
}

// Landed tells whether the fixture landed; false for no outcome.
func (o *Outcome) Landed() bool { return o != nil && o.Result == solve.Landed }

// UnmarshalJSON also reads outcomes of journals of version 1, whose figures were
// 0 where nothing had been measured.
func (o *Outcome) UnmarshalJSON(text []byte) error {
	type plain Outcome
	var v struct {
		plain
		FoundUV    colorcalc.UV `json:"found_uv"`
		FoundDelta float64      `json:"found_delta_uv"`
		FoundLux   float64      `json:"found_lux"`
		FinalUV    colorcalc.UV `json:"final_uv"`
		FinalDelta float64      `json:"final_delta_uv"`
		FinalSD    float64      `json:"final_sd_uv"`
		Lux        float64      `json:"lux"`
	}
	if err := json.Unmarshal(text, &v); err != nil {
		return err
	}
	*o = Outcome(v.plain)
	if o.Found == nil && v.FoundUV != (colorcalc.UV{}) {
		o.Found = &Stand{UV: v.FoundUV, Delta: v.FoundDelta, Lux: v.FoundLux}
	}
	if o.Final == nil && v.FinalUV != (colorcalc.UV{}) && o.Readings > 0 {
		o.Final = &Stand{UV: v.FinalUV, Delta: v.FinalDelta, SD: v.FinalSD, Lux: v.Lux}
	}
	if o.Before != nil && o.Before.Codes == nil {
		o.Before = nil
	}
	if o.After != nil && o.After.Codes == nil {
		o.After = nil
	}
	return nil
}
