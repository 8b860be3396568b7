package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"trueup/loop/session"
)

// SheetRow is one line of the settings sheet: one parameter of one fixture,
// before and after, in the fixture's own unit and as raw slots.
type SheetRow struct {
	Fixture     string `json:"fixture"`
	DeskChannel string `json:"desk_channel"`
	Profile     string `json:"profile"`
	Mode        string `json:"mode"`
	Address     string `json:"address"`
	Result      string `json:"result"`
	Parameter   string `json:"parameter"`
	Unit        string `json:"unit"`
	// Before is nil where it is not known how the fixture stood.
	Before *float64 `json:"before"`
	After  float64  `json:"after"`
	// Slots are "universe/slot=value" of the whole fixture, blank separated, in
	// their order; on its first row only. They are all that the lamp needs.
	SlotsBefore string `json:"slots_before,omitempty"`
	SlotsAfter  string `json:"slots_after,omitempty"`
	First       bool   `json:"-"` // the first row of the fixture, by hand or not
}

// Sheet lists the settings of every fixture that was matched.
func Sheet(s *session.Summary) []SheetRow {
	var rows []SheetRow
	for _, f := range s.Fixtures {
		o := f.Final()
		if f.Lit != nil && s.IsReference(f) {
			o = referenceOutcome(s, &f)
		}
		if o == nil || o.Final == nil || o.After == nil || o.Before == nil {
			continue // never read: a setting that nobody measured is no result
		}
		result := o.Result.String()
		if s.IsReference(f) {
			result = asReference
		}
		first := len(rows)
		add := func(before []session.Setting, i int, p session.Setting) {
			row := SheetRow{Fixture: f.Name, DeskChannel: f.DeskChannel, Profile: f.Profile, Mode: f.Mode, Address: f.Address,
				Result: result, Parameter: p.Name, Unit: p.Unit, After: p.Value}
			if i < len(before) && before[i].Name == p.Name {
				row.Before = &before[i].Value
			}
			rows = append(rows, row)
		}
		for i, p := range o.After.Settings {
			add(o.Before.Settings, i, p)
		}
		if len(rows) == first {
			continue
		}
		for i, p := range f.Held { // they stood there all along
			add(f.Held, i, p)
		}
		rows[first].First = true
		rows[first].SlotsBefore, rows[first].SlotsAfter = slotText(o.Before.Slots), slotText(o.After.Slots)
	}
	return rows
}

// asReference is said of the lamp that all others were matched to.
const asReference = "the reference"

// referenceOutcome is how a driven reference stood, before and after: nobody changed it.
func referenceOutcome(s *session.Summary, f *session.FixtureSummary) *session.Outcome {
	return &session.Outcome{Before: f.Lit, After: f.Lit, Final: &session.Stand{UV: s.Reference.UV, Lux: s.Reference.Lux}}
}

func slotText(slots []session.SlotValue) string {
	words := make([]string, len(slots))
	for i, s := range slots {
		words[i] = fmt.Sprintf("%d/%d=%d", s.Universe, s.Slot, s.Value)
	}
	return strings.Join(words, " ")
}

// WriteSheetCSV writes the sheet with one header line (RFC 4180). Universe and slot have a
// column each: spreadsheets take 1/2 for a day of the year.
func WriteSheetCSV(w io.Writer, rows []SheetRow) error {
	c := csv.NewWriter(w)
	if err := c.Write([]string{"fixture", "desk channel", "profile", "mode", "universe", "first slot", "result", "parameter", "unit",
		"before", "after", "slots before", "slots after"}); err != nil {
		return err
	}
	for _, r := range rows {
		universe, slot, _ := strings.Cut(r.Address, "/")
		if err := c.Write([]string{plainCell(r.Fixture), plainCell(r.DeskChannel), plainCell(r.Profile), plainCell(r.Mode), plainCell(universe), plainCell(slot),
			plainCell(r.Result), plainCell(r.Parameter), plainCell(r.Unit), figure(r.Before), figure(&r.After), r.SlotsBefore, r.SlotsAfter}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// figure writes a value as it is dialled; nothing for one that is not known.
// Adding 0 takes the sign off a zero.
func figure(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v+0, 'f', -1, 64)
}

// plainCell keeps a text from the rig file or a profile from being taken for a
// formula by the spreadsheet that opens the sheet.
func plainCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}

// WriteSheetJSON writes the sheet with the facts needed to use it.
func WriteSheetJSON(w io.Writer, s *session.Summary, rows []SheetRow) error {
	return JSON(w, struct {
		Rig       string     `json:"rig"`
		Target    string     `json:"target"`
		Tolerance float64    `json:"tolerance_uv"`
		Date      string     `json:"date"`
		Rows      []SheetRow `json:"rows"`
	}{s.Info.Rig, s.Info.Target, s.Info.Tolerance, s.Started.Format("2006-01-02T15:04:05Z07:00"), rows})
}
