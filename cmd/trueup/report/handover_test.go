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
	"slices"
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

// matchedRun matches the rig on a simulated stage, and gives a fresh stage of the same lamps.
func matchedRun(t *testing.T) (*session.Result, *session.Compiled, func() *stage.Hall) {
	t.Helper()
	dir := t.TempDir()
	profiles, err := filepath.Abs("../../../examples/profiles")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "rig.yaml")
	write := func(levels, meter string) *rig.Rig {
		if err := os.WriteFile(path, fmt.Appendf(nil, handedRig, levels, meter, filepath.ToSlash(profiles)), 0o644); err != nil {
			t.Fatal(err)
		}
		return loadRig(t, path)
	}
	r := write("127.0.0.1:1", "127.0.0.1:1")
	fresh := func() *stage.Hall {
		f, err := stage.ParseFile("stage.yaml", []byte("seed: 7\nmeter: {integration_ms: 60, period_ms: 80}\n"))
		if err != nil {
			t.Fatal(err)
		}
		h, err := stage.Build(r, f)
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	server, err := stage.Listen(fresh(), stage.ServeConfig{SACN: netip.MustParseAddrPort("127.0.0.1:0"), Meter: "127.0.0.1:0", Log: zerolog.Nop()})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); server.Run(ctx) }()
	t.Cleanup(func() { cancel(); <-done })
	r = write(server.SACN().String(), server.Meter())
	j := session.Job{Program: "test", Rig: r, Work: core.Match, OutRoot: filepath.Join(dir, "out"), CID: sacn.CID{9}, Log: zerolog.Nop()}
	if j.Plan, err = session.PlanFor(r); err != nil {
		t.Fatal(err)
	}
	if j.Compiled, err = session.Compile(r); err != nil {
		t.Fatal(err)
	}
	run, err := session.Open(ctx, j)
	if err != nil {
		t.Fatal(err)
	}
	res, err := run.Work(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return res, j.Compiled, fresh
}

// Whoever dials the settings sheet, or loads the cue, into a desk that shows nothing finds the
// match on a stage that nobody has touched.
func TestTheSheetAndTheCueGiveTheMatchBack(t *testing.T) {
	if testing.Short() {
		t.Skip("matches two lamps in real time")
	}
	res, compiled, fresh := matchedRun(t)
	s := res.Summary
	defer palettesHold(t, res, compiled, fresh)
	var text bytes.Buffer
	if err := WriteSheetCSV(&text, Sheet(s)); err != nil {
		t.Fatal(err)
	}
	cells, err := csv.NewReader(&text).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var fromSheet [512]byte
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
	var fromCue [512]byte
	for channel, value := range readCue(t, cue)["901"] {
		slot := channel - 201 + 1 // wash
		if channel >= 301 {
			slot = channel - 301 + 101
		}
		fromCue[slot-1] = value
	}
	for what, slots := range map[string]*[512]byte{"sheet": &fromSheet, "cue": &fromCue} {
		h := fresh()
		h.Levels(dmx.Universe(1), slots[:])
		h.Advance(20 * time.Second)
		light := map[string]colorcalc.XYZ{}
		for _, truth := range h.Truths() {
			light[truth.Lamp] = truth.XYZ
		}
		for _, f := range s.Fixtures {
			o := f.Final()
			if f.Fixed || o == nil {
				continue
			}
			if !o.Landed() {
				t.Errorf("%s has not landed: %s", f.Name, o.Reason)
			}
			if d := light[f.Name].UV().Dist(light["lamp"].UV()); !(d <= s.Info.Tolerance) {
				t.Errorf("by the %s %s stands %.5f from the reference", what, f.Name, d)
			}
			if lux := light[f.Name].Y; math.Abs(lux/o.Final.Lux-1) > 0.05 {
				t.Errorf("by the %s %s gives %.0f lux, it was matched at %.0f", what, f.Name, lux, o.Final.Lux)
			}
		}
	}
}

// palettesHold predicts colours that were never read from what the run learnt, dials them into a
// fresh stage, and looks where they truly are.
func palettesHold(t *testing.T, res *session.Result, compiled *session.Compiled, fresh func() *stage.Hall) {
	t.Helper()
	f, err := os.Open(filepath.Join(res.Dir, "journal.jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	entries, _, err := session.ReadJournal(f)
	if err != nil {
		t.Fatal(err)
	}
	learnt, err := core.Replay(entries)
	if err != nil {
		t.Fatal(err)
	}
	var off, scaled []float64
	for _, u := range compiled.Units {
		if u.Head < 0 {
			continue
		}
		for kelvin := colorcalc.Kelvin(2700); kelvin <= 6500; kelvin += 200 {
			for _, duv := range []colorcalc.Duv{-0.006, 0, 0.006} {
				xy, err := colorcalc.White(kelvin, duv)
				if err != nil {
					t.Fatal(err)
				}
				p, err := learnt.Predict(u.Info.Name, xy.UV())
				if err != nil {
					t.Fatal(err)
				}
				var slots [512]byte
				for _, v := range u.Slots(p.Codes) {
					slots[v.Slot-1] = v.Value
				}
				h := fresh()
				h.Levels(dmx.Universe(1), slots[:])
				h.Advance(20 * time.Second)
				for _, truth := range h.Truths() {
					if truth.Lamp == u.Info.Name {
						d := truth.XYZ.UV().Dist(p.UV)
						off, scaled = append(off, d), append(scaled, d/p.SD)
					}
				}
			}
		}
	}
	slices.Sort(off)
	slices.Sort(scaled)
	within := func(z float64) float64 {
		n, _ := slices.BinarySearch(scaled, z)
		return float64(n) / float64(len(scaled))
	}
	// A Gaussian of two dimensions has so much within so many standard deviations of one axis (Rayleigh).
	t.Logf("%d predictions: median %.4f off, worst %.4f; within the claimed 50, 90, 95 %%: %.0f, %.0f, %.0f %%", len(off), off[len(off)/2], off[len(off)-1],
		100*within(1.177), 100*within(2.146), 100*within(2.448))
	// The errors of one lamp's colours go together, so two lamps say little of 95 %; that the errors are of
	// the claimed size they do say.
	if within(2.448) < 0.6 {
		t.Errorf("of the predictions %.0f %% are where they were said to be with 95 %%", 100*within(2.448))
	}
}

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
	if err := WritePage(&page, s, ""); err != nil {
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
