package session

import "trueup/colorcalc"

// RunInfo opens a journal: enough to read it without the files it came from.
type RunInfo struct {
	Program   string        `json:"program"`
	Rig       string        `json:"rig"`
	RigFile   string        `json:"rig_file"`
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
	Corrected []string      `json:"corrected_probes,omitempty"` // how, in words
	Fixtures  []FixtureInfo `json:"fixtures"`
}

// FixtureInfo is a fixture as the rig file and its profile describe it.
type FixtureInfo struct {
	Name        string   `json:"name"`
	Profile     string   `json:"profile"`
	Mode        string   `json:"mode,omitempty"`
	Address     string   `json:"address,omitempty"`
	DeskChannel string   `json:"desk_channel,omitempty"`
	Probe       string   `json:"probe,omitempty"`
	Parameters  []string `json:"parameters,omitempty"` // names, in the order of a Drive
	// Held is what else must stand for the parameters to do their work: pinned
	// slots, and what all heads of the fixture share.
	Held   []Setting `json:"held,omitempty"`
	Fixed  bool      `json:"fixed,omitempty"` // cannot be changed
	ByHand bool      `json:"by_hand,omitempty"`
}

// Reference is the light everything is matched to, as measured or as named.
type Reference struct {
	Name     string       `json:"name"`
	UV       colorcalc.UV `json:"uv"`
	SigmaUV  float64      `json:"sigma_uv"` // standard error of UV, per axis
	Lux      float64      `json:"lux,omitempty"`
	Readings int          `json:"readings"`
	// MeterSigmaUV is the scatter of one reading about the mean, per axis.
	MeterSigmaUV float64 `json:"meter_sigma_uv,omitempty"`
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
}

// Account is what the estimate made of a reading.
type Account struct {
	Verdict    string  `json:"verdict"`
	Innovation float64 `json:"innovation_uv"`
	Words      string  `json:"words"`
}

// Outcome is how a fixture ended, in design's words, with its proof.
type Outcome struct {
	Result      string       `json:"result"` // landed, out of reach, unsettled, held
	Reason      string       `json:"reason,omitempty"`
	FoundUV     colorcalc.UV `json:"found_uv"`
	FoundDelta  float64      `json:"found_delta_uv"`
	FinalUV     colorcalc.UV `json:"final_uv"` // estimate after all readings, not the last reading
	FinalDelta  float64      `json:"final_delta_uv"`
	FinalSD     float64      `json:"final_sd_uv"`
	Probability float64      `json:"probability"` // of lying within tolerance
	Lux         float64      `json:"lux,omitempty"`
	FoundLux    float64      `json:"found_lux,omitempty"`
	Readings    int          `json:"readings"`
	Steps       int          `json:"steps"`
	Seconds     float64      `json:"seconds"`
	Before      Step         `json:"before"`
	After       Step         `json:"after"`
	Words       string       `json:"words"` // the difference in plain words
	Advice      string       `json:"advice,omitempty"`
}
