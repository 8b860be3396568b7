package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"

	"trueup/loop/session"
)

// A PaletteEntry is one colour of one fixture: a setting that its learnt model gives. It is predicted,
// and nothing was measured at it.
type PaletteEntry struct {
	Fixture     string            `json:"fixture"`
	DeskChannel string            `json:"desk_channel,omitempty"`
	Colour      string            `json:"colour"` // as asked for
	Status      string            `json:"status"` // "predicted", or why there is no setting
	U           float64           `json:"u_prime,omitempty"`
	V           float64           `json:"v_prime,omitempty"`
	Off         float64           `json:"off_uv"`             // of the prediction from the colour
	SD          float64           `json:"sd_uv,omitempty"`    // of the prediction, per axis
	InReach     bool              `json:"in_reach,omitempty"` // Off is within the tolerance of the run
	Settings    []session.Setting `json:"settings,omitempty"`
	Slots       string            `json:"slots,omitempty"` // as on the settings sheet
}

// Predicted is the status of an entry that has a setting.
const Predicted = "predicted"

// SlotText writes raw slots as on the settings sheet.
func SlotText(slots []session.SlotValue) string { return slotText(slots) }

// WritePaletteCSV writes a palette with one header line (RFC 4180), a row for each parameter.
func WritePaletteCSV(w io.Writer, all []PaletteEntry) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"fixture", "desk channel", "colour", "status", "off u'v'", "sd u'v'", "parameter", "unit", "value", "slots"}); err != nil {
		return err
	}
	for _, e := range all {
		head := []string{plainCell(e.Fixture), plainCell(e.DeskChannel), plainCell(e.Colour), plainCell(e.Status)}
		if e.Status != Predicted {
			if err := c.Write(append(head, "", "", "", "", "", "")); err != nil {
				return err
			}
		}
		for i, s := range e.Settings {
			slots := ""
			if i == 0 {
				slots = e.Slots
			}
			if err := c.Write(append(head[:4:4], fmt.Sprintf("%.4f", e.Off), fmt.Sprintf("%.4f", e.SD), plainCell(s.Name), plainCell(s.Unit),
				strconv.FormatFloat(s.Value+0, 'f', -1, 64), slots)); err != nil {
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
	}{s.Info.Rig, s.Started.Format("2006-01-02T15:04:05Z07:00"), "predicted from the learnt models; not measured", all})
}
