package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/loop/stage"
	"trueup/profiles"
)

const rigHead = "rig: r\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\ntarget: {color: 4300 K, level: 25 %}\nfixtures:\n"

// invented writes profiles and a rig of one fixture each into a folder.
func invented(t *testing.T, modes ...string) *rig.Rig {
	t.Helper()
	dir, text := t.TempDir(), rigHead
	for i, m := range modes {
		name := fmt.Sprintf("p%d.yaml", i)
		if err := os.WriteFile(filepath.Join(dir, name), []byte("profile: P"+strconv.Itoa(i)+"\nmodes:\n  - "+m+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		text += fmt.Sprintf("  - {name: lamp %d, profile: %s, address: 1/%d}\n", i, name, 1+40*i)
	}
	path := filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return loadRig(t, path)
}

func loadRig(t *testing.T, path string) *rig.Rig {
	t.Helper()
	r, err := rig.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sheetOf is the sheet of a run in which every unit ended at the codes given.
func sheetOf(t *testing.T, r *rig.Rig, codes func(u *session.Unit) solve.Drive) ([]*session.Unit, []SheetRow) {
	t.Helper()
	c, err := session.Compile(r)
	if err != nil {
		t.Fatal(err)
	}
	s := &session.Summary{}
	for _, u := range c.Units {
		f := session.FixtureSummary{FixtureInfo: u.Info}
		if u.Head >= 0 {
			d := codes(u)
			step := session.Step{Codes: d, Settings: u.Settings(d), Slots: u.Slots(d)}
			f.Outcome = &session.Outcome{Result: solve.Landed, Final: &session.Stand{}, Before: &step, After: &step}
		}
		s.Fixtures = append(s.Fixtures, f)
	}
	return c.Units, Sheet(s)
}

func rowsOf(rows []SheetRow, name string) (own []SheetRow) {
	for _, r := range rows {
		if r.Fixture == name {
			own = append(own, r)
		}
	}
	return own
}

// dialled puts the raw slots of a fixture's sheet into an empty universe.
func dialled(t *testing.T, row SheetRow) (u dmx.Universe, slots [512]byte) {
	t.Helper()
	last := 0
	for _, word := range strings.Fields(row.SlotsAfter) {
		var universe, slot, value int
		if _, err := fmt.Sscanf(word, "%d/%d=%d", &universe, &slot, &value); err != nil {
			t.Fatalf("%q: %v", word, err)
		}
		if slot <= last {
			t.Errorf("%s: slot %d stands after slot %d", row.Fixture, slot, last)
		}
		last = slot
		u, slots[slot-1] = dmx.Universe(universe), byte(value)
	}
	return u, slots
}

// Whoever dials the raw slots of the sheet into a desk that shows nothing has
// light from every lamp of the examples: pinned, mode-select and shutter slots
// and a dimmer that heads share are on the sheet too.
func TestTheSheetAloneLightsEveryLamp(t *testing.T) {
	bar := filepath.Join(t.TempDir(), "bar.yaml")
	dir, err := filepath.Abs("../../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	text := rigHead
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, e := range entries {
		p, err := profiles.Load(filepath.Join(dir, e.Name()))
		if filepath.Ext(e.Name()) != ".yaml" || err != nil {
			continue
		}
		for _, m := range p.Modes {
			if m.Footprint > 0 && m.Kind != profiles.Fixed {
				n++
				text += fmt.Sprintf("  - {name: x%d, profile: %q, mode: %q, address: %d/1}\n", n, filepath.Join(dir, e.Name()), m.Name, n)
			}
		}
	}
	if err := os.WriteFile(bar, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	lit := 0
	for _, path := range []string{"../../../examples/demo/rig.yaml", "../../../examples/theatre-cyc/rig.yaml", "../../../examples/led-wall/rig.yaml",
		"../../../examples/interview/rig.yaml", bar} {
		r := loadRig(t, path)
		units, rows := sheetOf(t, r, func(u *session.Unit) solve.Drive { return u.Lit })
		for i, u := range units {
			if u.Head < 0 || i > 0 && len(units) > 40 && i%7 != 0 { // a wall of one kind: some of them
				continue
			}
			own := rowsOf(rows, u.Info.Name)
			if len(own) == 0 {
				t.Fatalf("%s: %s is not on the sheet", path, u.Info.Name)
			}
			h, err := stage.Build(r, nil)
			if err != nil {
				t.Fatal(err)
			}
			universe, slots := dialled(t, own[0])
			h.Levels(universe, slots[:])
			h.Advance(5 * time.Second)
			light := 0.0
			for _, truth := range h.Truths() {
				if truth.Lamp == u.Info.Name {
					light = truth.XYZ.Y
				}
			}
			if !(light > 1) {
				t.Errorf("%s: %s gives %.3f lux with the slots of the sheet: %s", path, u.Info.Name, light, own[0].SlotsAfter)
			}
			lit++
		}
	}
	if lit < 40 {
		t.Errorf("only %d lamps were looked at", lit)
	}
}

// The sheet is in the fixture's own units, rounded to what one code is worth:
// figures worked by hand.
func TestTheSheetSpeaksTheFixturesUnits(t *testing.T) {
	r := invented(t,
		`{mode: a, kind: cct, slots: 6, cct: {slots: [1], kelvin: [2700, 6500]}, tint: {slots: [2], percent_green: [50, -50]}, dimmer: {slots: [3, 4]}, set: [{name: mode, slots: [6], to: 40}], shutter: {slots: [5], open: 255}}`,
		`{mode: a, kind: cct, slots: 2, cct: {slots: [1], steps: [{levels: [0, 40], kelvin: 2700}, {levels: [100, 140], kelvin: 5600}]}, tint: {slots: [2], levels: [0, 254], duv: [0.012, -0.012]}}`,
		`{mode: a, kind: hue-saturation, slots: 2, hue: {slots: [1], levels: [0, 250], degrees: [360, 0]}, saturation: {slots: [2], percent: [100, 0]}}`,
		`{mode: a, kind: xy, slots: 4, x: {slots: [1, 2], range: [0, 0.8]}, y: {slots: [3, 4]}}`,
		`{mode: a, kind: cct, slots: 3, cct: {slots: [1, 2], kelvin: [10000, 2000], scale: mired}, tint: {slots: [3], toward: magenta}}`)
	set := map[string]solve.Drive{"lamp 0": {128, 128, 61952}, "lamp 1": {70, 127}, "lamp 2": {125, 0}, "lamp 3": {25600, 21845}, "lamp 4": {65535, 255}}
	want := map[string][]string{
		"lamp 0": {"cct 4607 K", "tint -0.2 % green", "dimmer 94.533 %", "mode 40 level", "shutter 255 level"},
		"lamp 1": {"cct 2700 K", "tint 0 Duv"},
		"lamp 2": {"hue 180 °", "saturation 100 %"},
		"lamp 3": {"x 0.3125 x", "y 0.33333 y"},
		"lamp 4": {"cct 2000 K", "tint 100 %"},
	}
	units, rows := sheetOf(t, r, func(u *session.Unit) solve.Drive { return set[u.Info.Name] })
	for _, u := range units {
		var got []string
		for _, row := range rowsOf(rows, u.Info.Name) {
			got = append(got, row.Parameter+" "+figure(&row.After)+" "+row.Unit)
			if row.Before == nil || *row.Before != row.After {
				t.Errorf("%s %s: before is not what it was", u.Info.Name, row.Parameter)
			}
		}
		if !slices.Equal(got, want[u.Info.Name]) {
			t.Errorf("%s: the sheet says %q, want %q", u.Info.Name, got, want[u.Info.Name])
		}
	}
	if got := rows[0].SlotsAfter; got != "1/1=128 1/2=128 1/3=242 1/4=0 1/5=255 1/6=40" {
		t.Errorf("slots %q", got)
	}
}

// Texts of a person's files never become formulas, and what was not known has
// no figure.
func TestCellsAreTexts(t *testing.T) {
	var b bytes.Buffer
	rows := []SheetRow{{Fixture: "=1+1", DeskChannel: "+2", Profile: "-x", Mode: "@m", Address: "1/2", Result: "landed", Parameter: "=p", Unit: "=u", After: -0.2}}
	if err := WriteSheetCSV(&b, rows); err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"'=1+1", "'+2", "'-x", "'@m", "1", "2", "landed", "'=p", "'=u", "", "-0.2", "", ""}
	if len(all) != 2 || !slices.Equal(all[1], want) {
		t.Errorf("cells %q, want %q", all[1], want)
	}
	if zero := math.Copysign(0, -1); figure(&zero) != "0" {
		t.Error("minus zero is shown")
	}
}
