package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"

	"trueup/loop/session"
)

// SheetRow is one line of the settings sheet: one parameter of one fixture,
// before and after, in the fixture's own unit and as raw slots.
type SheetRow struct {
	Fixture     string  `json:"fixture"`
	DeskChannel string  `json:"desk_channel"`
	Profile     string  `json:"profile"`
	Mode        string  `json:"mode"`
	Address     string  `json:"address"`
	Result      string  `json:"result"`
	Parameter   string  `json:"parameter"`
	Unit        string  `json:"unit"`
	Before      float64 `json:"before"`
	After       float64 `json:"after"`
	// Slots are "universe/slot=value" of the whole fixture, blank separated; on
	// its first row only.
	SlotsBefore string `json:"slots_before,omitempty"`
	SlotsAfter  string `json:"slots_after,omitempty"`
}

// Sheet lists the settings of every fixture that was matched.
func Sheet(s *session.Summary) []SheetRow {
	var rows []SheetRow
	for _, f := range s.Fixtures {
		o := f.Final()
		if o == nil {
			continue
		}
		before := map[string]session.Setting{}
		for _, p := range o.Before.Settings {
			before[p.Name] = p
		}
		for i, p := range o.After.Settings {
			row := SheetRow{Fixture: f.Name, DeskChannel: f.DeskChannel, Profile: f.Profile, Mode: f.Mode, Address: f.Address,
				Result: o.Result, Parameter: p.Name, Unit: p.Unit, Before: before[p.Name].Value, After: p.Value}
			if i == 0 {
				row.SlotsBefore, row.SlotsAfter = slotText(o.Before.Slots), slotText(o.After.Slots)
			}
			rows = append(rows, row)
		}
	}
	return rows
}

func slotText(slots []session.SlotValue) string {
	words := make([]string, len(slots))
	for i, s := range slots {
		words[i] = fmt.Sprintf("%d/%d=%d", s.Universe, s.Slot, s.Value)
	}
	return strings.Join(words, " ")
}

// WriteSheetCSV writes the sheet with one header line (RFC 4180).
func WriteSheetCSV(w io.Writer, rows []SheetRow) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"fixture", "desk channel", "profile", "mode", "address", "result", "parameter", "unit",
		"before", "after", "slots before", "slots after"}); err != nil {
		return err
	}
	num := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	for _, r := range rows {
		if err := c.Write([]string{plainCell(r.Fixture), plainCell(r.DeskChannel), plainCell(r.Profile), plainCell(r.Mode), r.Address, r.Result,
			plainCell(r.Parameter), r.Unit, num(r.Before), num(r.After), r.SlotsBefore, r.SlotsAfter}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// plainCell keeps a name from the rig file from being taken for a formula by
// the spreadsheet that opens the sheet.
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// WriteSheetJSON writes the sheet with the facts needed to use it.
func WriteSheetJSON(w io.Writer, s *session.Summary, rows []SheetRow) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(struct {
		Rig       string     `json:"rig"`
		Target    string     `json:"target"`
		Tolerance float64    `json:"tolerance_uv"`
		Date      string     `json:"date"`
		Rows      []SheetRow `json:"rows"`
	}{s.Info.Rig, s.Info.Target, s.Info.Tolerance, s.Started.Format("2006-01-02T15:04:05Z07:00"), rows})
}
