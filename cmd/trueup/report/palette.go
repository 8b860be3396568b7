package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/solve/num"
)

// A PaletteEntry is one colour of one fixture: a setting that its learnt model gives. It is predicted, and
// nothing was measured at it where its status does not say so.
type PaletteEntry struct {
	Fixture     string  `json:"fixture"`
	DeskChannel string  `json:"desk_channel,omitempty"`
	Colour      string  `json:"colour"` // as asked for
	Status      string  `json:"status"` // "predicted", "measured: " and the outcome, or why there is no setting
	U           float64 `json:"u_prime,omitempty"`
	V           float64 `json:"v_prime,omitempty"`
	Off         float64 `json:"off_uv"`          // of the prediction, or of what was measured, from the colour
	SD          float64 `json:"sd_uv,omitempty"` // of that, per axis
	// Within is the probability that a predicted setting lies within the tolerance of the run; nil of what was read.
	Within *float64 `json:"probability_within_tolerance,omitempty"`
	// FoundOff is what the predicted setting gave when it was read, before it was corrected; nil: it was not read.
	FoundOff *float64          `json:"found_off_uv,omitempty"`
	InReach  bool              `json:"in_reach,omitempty"` // Off is within the tolerance of the run, or it has landed
	Settings []session.Setting `json:"settings,omitempty"`
	Slots    string            `json:"slots,omitempty"` // as on the settings sheet

	Wanted colorcalc.UV `json:"-"` // the colour
	Codes  solve.Drive  `json:"-"` // empty: there is no setting
}

// Predicted is the status of an entry that has a setting which nobody has read. One that was read begins with Measured.
const (
	Predicted = "predicted"
	Measured  = "measured: "
)

// Predict puts a prediction into an entry, and how likely it lies within the tolerance.
func (e *PaletteEntry) Predict(p core.Prediction, tolerance float64) {
	within := num.InCircle(p.UV.U-e.Wanted.U, p.UV.V-e.Wanted.V, num.Cov2{UU: p.SD * p.SD, VV: p.SD * p.SD}, tolerance)
	e.U, e.V, e.Off, e.SD, e.InReach, e.Codes, e.Within = p.UV.U, p.UV.V, p.Off, p.SD, p.Off <= tolerance, p.Codes, &within
}

// SlotText writes raw slots as on the settings sheet.
func SlotText(slots []session.SlotValue) string { return slotText(slots) }

// WritePaletteCSV writes a palette with one header line (RFC 4180), a row for each parameter.
func WritePaletteCSV(w io.Writer, all []PaletteEntry) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"fixture", "desk channel", "colour", "status", "off u'v'", "sd u'v'", "parameter", "unit", "value", "slots", "as predicted, off u'v'", "probability within tolerance"}); err != nil {
		return err
	}
	for _, e := range all {
		head := []string{plainCell(e.Fixture), plainCell(e.DeskChannel), plainCell(e.Colour), plainCell(e.Status)}
		found, within := "", ""
		if e.Within != nil {
			within = fmt.Sprintf("%.2f", *e.Within)
		}
		if e.FoundOff != nil {
			found = fmt.Sprintf("%.4f", *e.FoundOff)
		}
		if len(e.Settings) == 0 {
			if err := c.Write(append(head, "", "", "", "", "", "", "", "")); err != nil {
				return err
			}
		}
		for i, s := range e.Settings {
			slots := ""
			if i == 0 {
				slots = e.Slots
			}
			if err := c.Write(append(head[:4:4], fmt.Sprintf("%.4f", e.Off), fmt.Sprintf("%.4f", e.SD), plainCell(s.Name), plainCell(s.Unit),
				strconv.FormatFloat(s.Value+0, 'f', -1, 64), slots, found, within)); err != nil {
				return err
			}
		}
	}
	c.Flush()
	return c.Error()
}

// WritePaletteJSON writes a palette with the run that it was learnt from.
func WritePaletteJSON(w io.Writer, s *session.Summary, all []PaletteEntry) error {
	return JSON(w, struct {
		Rig     string         `json:"rig"`
		Learnt  string         `json:"learnt"`
		Note    string         `json:"note"`
		Entries []PaletteEntry `json:"entries"`
	}{s.Info.Rig, s.Started.Format("2006-01-02T15:04:05Z07:00"), note(all), all})
}

// note says what stands behind the figures of a palette.
func note(all []PaletteEntry) string {
	if slices.ContainsFunc(all, func(e PaletteEntry) bool { return e.FoundOff != nil }) {
		return "predicted from the learnt models, and not measured, where the status does not say so"
	}
	return "predicted from the learnt models; not measured"
}
