package report

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"net/netip"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"trueup/colorcalc"
	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

// handedRig has emitters and a dimmer of 16 bit with pinned slots, emitters of 8 bit, and a
// lamp that is called by a formula.
const handedRig = `rig: handed
output: {mode: own, unicast: ["%s"]}
feeds: [{name: meter, kind: tcp, address: "%s"}]
safety: {rise: 100 %%/s, fall: 100 %%/s, level_cap: 50 %%}
target: {reference: lamp, level: 25 %%}
fixtures:
  - {name: lamp, profile: %[3]s/museum-discharge-lamp.yaml, fixed: true, probe: ref}
  - {name: wash, profile: %[3]s/farnwibble-wash-16.yaml, address: 1/1, probe: mark, desk_channel: 201}
  - {name: "=cob", profile: %[3]s/wiffelmoor-wash-8.yaml, address: 1/101, probe: mark, desk_channel: 301}
`

// handed writes the rig and reads it.
func handed(t *testing.T, dir, levels, meter string) *rig.Rig {
	t.Helper()
	profiles, err := filepath.Abs("../../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(path, fmt.Appendf(nil, handedRig, levels, meter, filepath.ToSlash(profiles)), 0o644); err != nil {
		t.Fatal(err)
	}
	return loadRig(t, path)
}

// stageOf describes the stage of a seed.
func stageOf(t *testing.T, seed int) *stage.File {
	t.Helper()
	f, err := stage.ParseFile("stage.yaml", fmt.Appendf(nil, "seed: %d\nmeter: {integration_ms: 60, period_ms: 80}\n", seed))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// untouched is a stage where nobody has set anything yet.
func untouched(t *testing.T, r *rig.Rig, f *stage.File) *stage.Hall {
	t.Helper()
	h, err := stage.Build(r, f)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// shone is the light of each lamp at the levels of universe 1, warm.
func shone(h *stage.Hall, slots *[512]byte) map[string]colorcalc.XYZ {
	h.Levels(dmx.Universe(1), slots[:])
	h.Advance(20 * time.Second)
	light := map[string]colorcalc.XYZ{}
	for _, truth := range h.Truths() {
		light[truth.Lamp] = truth.XYZ
	}
	return light
}

// jobOf is the job of matching a rig.
func jobOf(t *testing.T, r *rig.Rig) session.Job {
	t.Helper()
	j := session.Job{Program: "test", Rig: r, Work: core.Match, CID: sacn.CID{9}, Log: zerolog.Nop()}
	var err error
	if j.Plan, err = session.PlanFor(r); err != nil {
		t.Fatal(err)
	}
	if j.Compiled, err = session.Compile(r); err != nil {
		t.Fatal(err)
	}
	return j
}

// sheetAndCue are the levels of universe 1 as a desk has them after the sheet was dialled, and after the cue was loaded.
func sheetAndCue(t *testing.T, s *session.Summary) (fromSheet, fromCue [512]byte) {
	t.Helper()
	var text bytes.Buffer
	if err := WriteSheetCSV(&text, Sheet(s)); err != nil {
		t.Fatal(err)
	}
	cells, err := csv.NewReader(&text).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range cells[1:] {
		for _, word := range strings.Fields(row[len(row)-1]) {
			var universe, slot, value int
			if _, err := fmt.Sscanf(word, "%d/%d=%d", &universe, &slot, &value); err != nil || universe != 1 {
				t.Fatalf("%q: %v", word, err)
			}
			fromSheet[slot-1] = byte(value)
		}
	}
	cue, left, err := Cue(s, CueOptions{Cue: "901", Up: 4, Down: 4})
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	for channel, value := range readCue(t, cue)["901"] {
		slot := channel - 201 + 1 // wash
		if channel >= 301 {
			slot = channel - 301 + 101
		}
		fromCue[slot-1] = value
	}
	return fromSheet, fromCue
}

// Whoever dials the settings sheet, or loads the cue, into a desk that shows nothing has every slot as
// the run left it, and on a stage that nobody has touched the light that was read last. What the run
// learnt can be had back from its journal, for other colours.
func TestTheSheetAndTheCueGiveTheMatchBack(t *testing.T) {
	if testing.Short() {
		t.Skip("matches two lamps in real time")
	}
	dir := t.TempDir()
	f := stageOf(t, 7)
	r := handed(t, dir, "127.0.0.1:1", "127.0.0.1:1")
	server, err := stage.Listen(untouched(t, r, f), stage.ServeConfig{SACN: netip.MustParseAddrPort("127.0.0.1:0"), Meter: "127.0.0.1:0", Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); server.Run(ctx) }()
	t.Cleanup(func() { cancel(); <-done })
	r = handed(t, dir, server.SACN().String(), server.Meter())
	j := jobOf(t, r)
	j.OutRoot = filepath.Join(dir, "out")
	run, err := session.Open(ctx, j)
	if err != nil {
		t.Fatal(err)
	}
	res, err := run.Work(ctx)
	if err != nil {
		t.Fatal(err)
	}
	fromSheet, fromCue := sheetAndCue(t, res.Summary)
	if fromSheet != fromCue {
		t.Errorf("the sheet says %v, the cue %v", fromSheet, fromCue)
	}
	light := shone(untouched(t, r, f), &fromSheet)
	for _, f := range res.Summary.Fixtures {
		o := f.Final()
		if f.Fixed || o == nil || o.Final == nil || o.After == nil {
			if !f.Fixed {
				t.Errorf("%s was never set and read: %+v", f.Name, o)
			}
			continue
		}
		for _, v := range o.After.Slots {
			if got := fromSheet[v.Slot-1]; got != v.Value {
				t.Errorf("%s: slot %d was left at %d, the sheet says %d", f.Name, v.Slot, v.Value, got)
			}
		}
		// Some ten standard deviations of one reading, and what warmth does.
		if d := light[f.Name].UV().Dist(o.Final.UV); !(d <= 0.005) {
			t.Errorf("by the sheet %s stands %.5f from where it was read", f.Name, d)
		}
		if lux := light[f.Name].Y; math.Abs(lux/o.Final.Lux-1) > 0.1 {
			t.Errorf("by the sheet %s gives %.0f lux, it was read at %.0f", f.Name, lux, o.Final.Lux)
		}
	}
	journal, err := os.Open(filepath.Join(res.Dir, "journal.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	defer journal.Close()
	entries, _, err := session.ReadJournal(journal)
	if err != nil {
		t.Fatal(err)
	}
	learnt, err := core.Replay(entries)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"wash", "=cob"} {
		if p, err := learnt.Predict(name, warm.UV()); err != nil || !(p.SD > 0) || !(p.SD < 0.05) {
			t.Errorf("%s: %+v %v", name, p, err)
		}
	}
}

// warm is a colour that nobody matched to.
var warm = colorcalc.XY{X: 0.41, Y: 0.39}

// readCue reads cues by the rules of the USITT ASCII text representation 3.0 (1992): words are divided by
// blanks and , / ; < = > @, letters are equal, an exclamation mark begins a comment, and levels
// are percent or H and two hex digits. It knows nothing of the writer.
func readCue(t *testing.T, text []byte) map[string]map[int]uint8 {
	t.Helper()
	cues, now, ended, opened := map[string]map[int]uint8{}, "", false, false
	for line := range strings.Lines(string(text)) {
		if !strings.HasSuffix(line, "\r\n") || len(line) > 82 {
			t.Fatalf("line %q", line)
		}
		for _, c := range []byte(strings.TrimSuffix(line, "\r\n")) {
			if c < ' ' || c > '~' {
				t.Fatalf("line %q is not ASCII", line)
			}
		}
		line, _, _ = strings.Cut(line, "!")
		words := strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(" \t\r\n,/;<=>@", r) })
		if len(words) == 0 {
			continue
		}
		if ended {
			t.Fatalf("%q after the end", line)
		}
		switch key := strings.ToUpper(words[0]); key {
		case "IDENT":
			opened = words[1] == "3:0"
		case "MANUFACTURER", "CONSOLE", "TEXT", "UP", "DOWN":
		case "CUE":
			now = words[1]
			cues[now] = map[int]uint8{}
		case "CHAN":
			for i := 1; i+1 < len(words); i += 2 {
				channel, err := strconv.Atoi(words[i])
				if err != nil {
					t.Fatal(err)
				}
				value, err := strconv.ParseUint(strings.TrimPrefix(words[i+1], "H"), 16, 8)
				if err != nil || !strings.HasPrefix(words[i+1], "H") {
					t.Fatalf("level %q: %v", words[i+1], err)
				}
				if _, twice := cues[now][channel]; twice {
					t.Fatalf("channel %d twice", channel)
				}
				cues[now][channel] = uint8(value)
			}
		case "ENDDATA":
			ended = true
		default:
			t.Fatalf("keyword %q is not of the standard, or never to be written", key)
		}
	}
	if !opened || !ended {
		t.Fatalf("not whole:\n%s", text)
	}
	return cues
}

// cueOf is a summary of lamps that stand at the slots given, each from its own address on.
func cueOf(lamps ...session.FixtureSummary) *session.Summary {
	return &session.Summary{Info: core.RunInfo{Rig: "Bühne !", Target: "D56"}, Fixtures: lamps}
}

func standing(name, channel, address string, slots ...session.SlotValue) session.FixtureSummary {
	return session.FixtureSummary{FixtureInfo: core.FixtureInfo{Name: name, DeskChannel: channel, Address: address},
		Outcome: &session.Outcome{Final: &session.Stand{}, After: &session.Step{Slots: slots}}}
}

// Every channel has the level of its slot, and one channel is never two slots: that would
// give one lamp the other's colour.
func TestACueKeepsChannelsApart(t *testing.T) {
	a := standing("a", "101", "2/5", session.SlotValue{Universe: 2, Slot: 5, Value: 1}, session.SlotValue{Universe: 2, Slot: 6, Value: 255})
	b := standing("b", "102", "2/7", session.SlotValue{Universe: 2, Slot: 7, Value: 3})
	if _, _, err := Cue(cueOf(a, b), CueOptions{Cue: "1"}); err == nil || !strings.Contains(err.Error(), "channel 102") {
		t.Errorf("two lamps share a channel: %v", err)
	}
	text, left, err := Cue(cueOf(a, b), CueOptions{Cue: "1", ByAddress: true})
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	got := readCue(t, text)["1"]
	for channel, want := range map[int]uint8{517: 1, 518: 255, 519: 3} {
		if got[channel] != want {
			t.Errorf("channel %d at %d, want %d", channel, got[channel], want)
		}
	}
	hand := session.FixtureSummary{FixtureInfo: core.FixtureInfo{Name: "knob", ByHand: true}}
	b.DeskChannel = "house left"
	text, left, err = Cue(cueOf(a, b, hand), CueOptions{Cue: "12.5"})
	if err != nil || len(left) != 2 || !strings.Contains(string(text), "not in this cue: b:") {
		t.Errorf("%v %q\n%s", err, left, text)
	}
	for _, bad := range []string{"", "0x1", "1 2", "9\nCLEAR ALL", "-1", "1.2345"} {
		if _, _, err := Cue(cueOf(a), CueOptions{Cue: bad}); err == nil {
			t.Errorf("cue %q is taken", bad)
		}
	}
}

// A lamp that is set by hand has its name and its knobs on the sheet and on the page.
func TestLampsSetByHandHaveTheirNames(t *testing.T) {
	f, err := os.Open("../../../testdata/journals/v2/byhand.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s, err := session.ReadSummary(f)
	if err != nil {
		t.Fatal(err)
	}
	rows := Sheet(s)
	var page bytes.Buffer
	if err := WritePage(&page, s, Extras{}); err != nil {
		t.Fatal(err)
	}
	_, settings, _ := strings.Cut(page.String(), "<h2>Settings</h2>")
	if len(rows) == 0 {
		t.Fatal("nothing on the sheet")
	}
	for _, r := range rows {
		if r.Fixture == "" || r.Parameter == "" || !strings.Contains(settings, "<td>"+r.Fixture+"</td><td>") {
			t.Errorf("%q %q stands on the page without its lamp", r.Fixture, r.Parameter)
		}
	}
}
