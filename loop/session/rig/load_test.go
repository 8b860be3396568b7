package rig

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/profiles"
	"trueup/profiles/law"
	"trueup/profiles/yamlfile"
)

// fakeProfiles stands for a folder of profile files: a ten-slot wash with two
// modes, a four-head bar, a lamp with knobs, and one that can not be changed.
func fakeProfiles(path string) (*profiles.Profile, error) {
	param := func(name string, slots ...int) profiles.Param {
		return profiles.Param{Name: name, Slots: slots, Range: law.Whole(1<<(8*len(slots)) - 1)}
	}
	emitter := func(name string, slots ...int) profiles.Emitter {
		return profiles.Emitter{Param: param(name, slots...)}
	}
	dimmer := param("dimmer", 1, 2)
	one := profiles.Heads{Count: 1}
	switch path {
	case "show/wash.yaml":
		return &profiles.Profile{Name: "Wash 10", Maker: "Farnwibble", Modes: []profiles.Mode{
			{Name: "16 bit", Kind: profiles.Emitters, Footprint: 10, Heads: one, Dimmer: &dimmer,
				Emitters: []profiles.Emitter{emitter("red", 3, 4), emitter("green", 5, 6), emitter("blue", 7, 8), emitter("white", 9, 10)}},
			{Name: "8 bit", Kind: profiles.Emitters, Footprint: 4, Heads: one,
				Emitters: []profiles.Emitter{emitter("red", 1), emitter("green", 2), emitter("blue", 3), emitter("white", 4)}},
		}}, nil
	case "show/bar.yaml":
		return &profiles.Profile{Name: "Bar 4", Modes: []profiles.Mode{{Name: "pixels", Kind: profiles.Emitters, Footprint: 12, Heads: profiles.Heads{Count: 4, Stride: 3},
			Emitters: []profiles.Emitter{emitter("red", 1), emitter("green", 2), emitter("blue", 3)}}}}, nil
	case "show/shared.yaml":
		white := emitter("white", 13)
		white.Common = true
		return &profiles.Profile{Name: "Bar S", Modes: []profiles.Mode{{Name: "pixels", Kind: profiles.Emitters, Footprint: 13, Heads: profiles.Heads{Count: 4, Stride: 3},
			Emitters: []profiles.Emitter{emitter("red", 1), emitter("green", 2), emitter("blue", 3), white}}}}, nil
	case "show/knob.yaml":
		return &profiles.Profile{Name: "Knob", Modes: []profiles.Mode{{Name: "menu", Kind: profiles.CCT, ByHand: true, Heads: one}}}, nil
	case "show/old.yaml":
		return &profiles.Profile{Name: "Old lamp", Modes: []profiles.Mode{{Name: "on", Kind: profiles.Fixed, Heads: one}}}, nil
	case "show/bad.yaml":
		return nil, yamlfile.Errors{{File: path, Line: 7, Col: 3, Msg: "slots is 0"}}
	}
	return nil, fmt.Errorf("profile: open %s: %w", path, fs.ErrNotExist)
}

func parseText(text string) (*Rig, error) { return Parse("show/rig.yaml", []byte(text), fakeProfiles) }

const goodRig = `rig: studio 2
output:
  mode: overlay
  interfaces: [eth0]
  unicast: [10.0.0.7, "[2001:db8::1]:6000"]
  multicast: true
feeds:
  - address: 127.0.0.1:7000
    instrument: meters/a.yaml
    probes: {a: mark, b: window}
    latency: 200 ms
safety:
  rise: 30 %/s
  level_cap: 80 %
  group_caps: {back row: 50 %}
  locked: [1/401..412, 3/1]
target:
  reference: window lamp
  level: 60 %
tolerance: 0.0015
groups:
  back row: [wash 2..3, bar]
fixtures:
  - name: wash 1..3
    profile: wash.yaml
    mode: 16 bit
    address: 1/481
    step: 16
    desk_channel: 101
    probe: mark
    grid: {col: 2, row: 1, columns: 2}
  - {name: bar, profile: bar.yaml, address: 2/101, probe: mark, heads: 2, level: 30 %}
  - {name: stand, profile: knob.yaml, probe: mark}
  - {name: window lamp, profile: old.yaml, probe: window, fixed: true}
`

// A rig file says everything a run needs, ranges written out, defaults filled
// in and files found beside it.
func TestARigIsRead(t *testing.T) {
	r, err := parseText(goodRig)
	if err != nil {
		t.Fatal(err)
	}
	if r.Name != "studio 2" || r.Dir != "show" || r.Output.Mode != Overlay || !r.Output.AutoPriority || !r.Output.Multicast ||
		fmt.Sprint(r.Output.Unicast) != "[10.0.0.7:5568 [2001:db8::1]:6000]" || r.Output.SourceName != "trueup" {
		t.Errorf("output %+v", r.Output)
	}
	f := r.Feeds[0]
	if f.Kind != "tcp" || f.Name != "meter" || f.Instrument != "show/meters/a.yaml" || f.Probes["b"] != "window" || f.Latency.Milliseconds() != 200 {
		t.Errorf("feed %+v", f)
	}
	if l := r.Safety.Limits; l.Rise != 0.3 || l.Fall != 0.5 || l.LevelCap != 0.8 || l.Watchdog <= 0 || l.Check() != nil {
		t.Errorf("limits %+v", l)
	}
	if fmt.Sprint(r.Safety.Locked) != "[1/401..412 3/1]" {
		t.Errorf("locked %v", r.Safety.Locked)
	}
	if r.Target.Reference != "window lamp" || r.Tolerance != 0.0015 {
		t.Errorf("target %+v, tolerance %v", r.Target, r.Tolerance)
	}
	var got []string
	for i := range r.Fixtures {
		f := &r.Fixtures[i]
		got = append(got, fmt.Sprintf("%s|%s|%s|%s|%v|%g|%g|%d|%v%v|%d", f.Name, f.Address, f.DeskChannel, f.Probe, f.Grid, f.Level, f.LevelCap, f.Heads, f.ByHand, f.Fixed, f.Pos.Line))
	}
	want := []string{
		"wash 1|1/481|101|mark|{2 1}|0.6|0.8|1|falsefalse|24",
		"wash 2|1/497|102|mark|{3 1}|0.5|0.5|1|falsefalse|24", // the group's cap holds
		"wash 3|2/1|103|mark|{2 2}|0.5|0.5|1|falsefalse|24",   // 1/513 is no slot: next universe
		"bar|2/101||mark|{0 0}|0.3|0.5|2|falsefalse|32",
		"stand|0/0||mark|{0 0}|0.6|0.8|1|truefalse|33",
		"window lamp|0/0||window|{0 0}|0.6|0.8|1|falsetrue|34",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("fixtures\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if us := fmt.Sprint(r.Universes()); us != "[1 2]" {
		t.Errorf("universes %s", us)
	}
	rows := PatchSheet(r)
	if len(rows) != 6 || rows[0].Slots != "1/481..490" || rows[0].Profile != "Farnwibble Wash 10" || rows[0].Grid != "2,1" || rows[2].Slots != "2/1..10" ||
		rows[4].Slots != "by hand" || rows[5].Slots != "fixed" || rows[5].Level != "" || rows[1].Groups != "back row" ||
		rows[0].Params != "red, green, blue, white, dimmer 16 bit" || rows[1].Level != "50 % (cap 50 %)" {
		t.Errorf("patch sheet %+v", rows)
	}
}

// Two hundred equal panels are five lines, and lie where a desk would patch
// them: 51 to a universe.
func TestTwoHundredPanelsAreFiveLines(t *testing.T) {
	r, err := parseText("rig: wall\ntarget: {color: D56}\nfixtures:\n" +
		"  - name: panel 1..200\n    profile: wash.yaml\n    mode: 16 bit\n    address: 1/1\n    grid: {col: 1, row: 1, columns: 20}\n")
	if err != nil {
		t.Fatal(err)
	}
	if n := len(r.Fixtures); n != 200 {
		t.Fatalf("%d fixtures", n)
	}
	for i, want := range map[int]string{0: "1/1", 50: "1/501", 51: "2/1", 101: "2/501", 102: "3/1", 199: "4/461"} {
		if got := r.Fixtures[i].Address.String(); got != want {
			t.Errorf("%s at %s, want %s", r.Fixtures[i].Name, got, want)
		}
	}
	if g := r.Fixtures[199].Grid; g != (Grid{20, 10}) {
		t.Errorf("the last panel is at %v, want column 20, row 10", g)
	}
}

// Every fault names its place and what to do; each case has one thing wrong.
func TestEveryFaultSaysWhereAndWhatToDo(t *testing.T) {
	for _, c := range []struct{ name, from, to, spot, gist string }{
		{"no such slot in the universe", "1/481", "1/510", "1/510", `from 1/510 they would end at slot 519, and a universe ends at 512; the last address that fits is 1/503`},
		{"universe 0", "1/481", "0/481", "0/481", "0 is not in 1..63999"},
		{"slot 0", "1/481", "1/0", "1/0", "0 is not in 1..512"},
		{"not an address", "1/481", "481", "481", "want universe/slot"},
		{"overlap", "address: 2/101", "address: 2/8", "2/8", `fixture "bar" (2/8..19) overlaps "wash 3" (2/1..10, line 24) on slots 8..10; free for it: 2/11`},
		{"step too small", "step: 16", "step: 9", "9\n", "want 10 or more"},
		{"house light", "address: 2/101", "address: 1/405", "1/405", `locked slots 405..412; free for it: 1/1`},
		{"missing profile", "profile: wash.yaml", "profile: wsh.yaml", "wsh.yaml", "profile wsh.yaml can not be used"},
		{"bad profile", "profile: wash.yaml", "profile: bad.yaml", "bad.yaml", "show/bad.yaml:7:3: slots is 0"},
		{"wrong mode", "mode: 16 bit", "mode: 16bit", "16bit", `did you mean "16 bit"?`},
		{"mode left out", "    mode: 16 bit\n", "", "name: wash 1..3", "say which one with mode: 16 bit, or 8 bit"},
		{"name twice", "name: stand", "name: bar", "bar, profile: knob", `stands already in line 32`},
		{"no address", "address: 2/101, ", "", "{name: bar", "write universe/slot"},
		{"address by hand", "name: stand,", "name: stand, address: 5/1,", "5/1", "set by hand: nothing is sent"},
		{"address of a fixed lamp", "name: window lamp,", "name: window lamp, address: 5/1,", "5/1", "fixed: nothing is sent"},
		{"house light of a universe that is ours alone", "mode: overlay", "mode: own", "locked", "universe 1 is sent by us alone"},
		{"too many heads", "heads: 2", "heads: 5", "5, level", "want 1..4"},
		{"heads on one emitter", "bar.yaml", "shared.yaml", "2, level", "share white, and a head is matched by itself; write heads: 1"},
		{"no such reference", "reference: window lamp", "reference: window lmp", "window lmp", `did you mean "window lamp"?`},
		{"two targets", "reference: window lamp", "reference: window lamp\n  color: D65", "window lamp\n  color", "keep one of the two"},
		{"no target", "  reference: window lamp\n", "", "target:", "neither color nor reference"},
		{"no colour", "reference: window lamp", "color: 4300 K dav 0", "4300 K dav", "4300 K dav"},
		{"level above the cap", "level: 60 %", "level: 90 %", "90 %", "above the level cap 80 %"},
		{"no unit", "rise: 30 %/s", "rise: 30", "30\n", "write 30 %/s"},
		{"no limit", "rise: 30 %/s", "rise: 0 %/s", "0 %/s", "above 0 %/s"},
		{"misspelt key", "level_cap: 80 %", "level_capp: 80 %", "level_capp", `did you mean "level_cap"?`},
		{"cap of no group", "{back row: 50 %}", "{bak row: 50 %}", "50 %}", `did you mean "back row"?`},
		{"group of nobody", "[wash 2..3, bar]", "[wash 2..4, bar]", "wash 2..4", `no fixture is called "wash 4"`},
		{"listed twice", "[wash 2..3, bar]", "[wash 2..3, bar, wash 3]", "wash 3]", `lists "wash 3" twice`},
		{"unknown probe", "probe: mark, heads", "probe: mrak, heads", "mrak", `did you mean "mark"?`},
		{"which probe", "probe: mark, heads", "heads", "{name: bar", "add probe: with one of mark, window"},
		{"IPv6 without multicast", "interfaces: [eth0]\n  unicast: [10.0.0.7, \"[2001:db8::1]:6000\"]\n  multicast: true", "ipv6: also\n  unicast: [10.0.0.7]\n  multicast: false", "also", "a unicast address may be an IPv6 address"},
		{"a word for IPv6", "multicast: true", "multicast: true\n  ipv6: yes", "yes", "off"},
		{"priority", "mode: overlay", "mode: own\n  priority: 201", "201", "from 0 to 200"},
		{"nothing sent", "interfaces: [eth0]\n  unicast: [10.0.0.7, \"[2001:db8::1]:6000\"]\n  multicast: true", "multicast: false", "false", "nothing would be sent"},
		{"bad receiver", "[10.0.0.7,", "[10.0.0,", "10.0.0,", "want an IP address"},
		{"locked slots", "1/401..412", "1/401..400", "1/401..400", "want a last slot within 401..512"},
		{"tolerance", "tolerance: 0.0015", "tolerance: 0.15", "0.15", "is not within"},
		{"feed port", "127.0.0.1:7000", "127.0.0.1:99999", "127.0.0.1:99999", "a port is a number up to 65535"},
		{"feed without port", "127.0.0.1:7000", "127.0.0.1", "127.0.0.1\n", "want host:port, like 127.0.0.1:7311"},
		{"feed without address", "address: 127.0.0.1:7000\n    ", "", "instrument", "needs an address"},
		{"time", "latency: 200 ms", "latency: 200", "200\n", "write ms, s, min or h"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(goodRig, c.from) == 0 {
				t.Fatalf("the rig has no %q", c.from)
			}
			text := strings.Replace(goodRig, c.from, c.to, 1)
			before, _, found := strings.Cut(text, c.spot)
			if !found {
				t.Fatalf("the rig has no %q", c.spot)
			}
			line := strings.Count(before, "\n") + 1
			col := len(before) - strings.LastIndex(before, "\n")
			_, err := parseText(text)
			var all yamlfile.Errors
			if !errors.As(err, &all) {
				t.Fatalf("error %v", err)
			}
			if text := all[0].Error(); all[0].Line != line || all[0].Col != col || !strings.Contains(text, c.gist) {
				t.Errorf("got  %s\nwant %d:%d … %s", text, line, col, c.gist)
			}
		})
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	text := strings.NewReplacer("rise: 30 %/s", "rise: fast", "1/481", "0/1", "reference: window lamp", "reference: nobody", "mode: overlay", "mode: overly").Replace(goodRig)
	_, err := parseText(text)
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 4 {
		t.Fatalf("want four errors, got %v", err)
	}
	for i, line := range []int{3, 13, 18, 27} {
		if all[i].Line != line {
			t.Errorf("error %d is in line %d, want %d: %v", i, all[i].Line, line, all[i])
		}
	}
}

// One slip is one fault.
func TestOneSlipIsOneFault(t *testing.T) {
	for from, to := range map[string]string{
		"probes: {a: mark, b: window}":  "probes: {a: mark, b: {}, c: window}",
		"{name: bar, profile":           "{profile",
		"{name: stand, profile":         "{profile",
		"address: 127.0.0.1:7000":       "address: 127.0.0.1",
		"  - address: 127.0.0.1:7000\n": "  - address: 127.0.0.1:99999\n",
	} {
		_, err := parseText(strings.Replace(strings.Replace(goodRig, "[wash 2..3, bar]", "[wash 2..3]", 1), from, to, 1))
		var all yamlfile.Errors
		if !errors.As(err, &all) || len(all) != 1 {
			t.Errorf("%s: want one error, got %v", to, err)
		}
	}
}

// Where there are several overlaps no hint names what another fixture has, or was told to take; and a fixture without
// an address that can be has no universe to listen on.
func TestHintsOfRoomDoNotCollide(t *testing.T) {
	_, err := parseText(`rig: tight
output: {mode: own, unicast: [10.0.0.7]}
feeds: [{address: "127.0.0.1:7000"}]
target: {color: D65}
fixtures:
  - {name: a, profile: wash.yaml, mode: 16 bit, address: 1/1}
  - {name: b, profile: wash.yaml, mode: 16 bit, address: 1/5}
  - {name: c, profile: wash.yaml, mode: 16 bit, address: 1/11}
`)
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 2 || !strings.Contains(all[0].Error(), "free for it: 1/21") || !strings.Contains(all[1].Error(), "free for it: 1/31") {
		t.Errorf("got %v", err)
	}
	r := &Rig{Fixtures: []Fixture{{Mode: &profiles.Mode{Footprint: 10}}}}
	if us := r.Universes(); len(us) != 0 {
		t.Errorf("universes %v of a fixture without an address", us)
	}
}

// A check finds a broken instrument file as well, beside everything else.
func TestInstrumentFilesAreLookedAt(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("lamp.yaml", "profile: Lamp\nmodes:\n  - {mode: a, kind: fixed, white: {kelvin: 3000}}\n")
	write("meter.yaml", "instrmnt: x\n")
	write("rig.yaml", "rig: x\ntarget: {color: D65}\ntolerance: 9\nfeeds:\n  - {address: 'a:1', instrument: meter.yaml}\n"+
		"  - {name: b, address: 'a:1', instrument: nothing.yaml}\nfixtures:\n  - {name: a, profile: lamp.yaml}\n")
	_, err := Load(filepath.Join(dir, "rig.yaml"))
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 3 || all[0].Line != 3 || all[1].Line != 5 || all[2].Line != 6 {
		t.Fatalf("want errors in lines 3, 5 and 6, got %v", err)
	}
	if !strings.Contains(all[1].Msg, "meter.yaml:1:1") || !strings.Contains(all[2].Msg, "nothing.yaml") {
		t.Errorf("%v", err)
	}
}

// A large rig is read while a person types: every key of an editor's check.
func BenchmarkParseFourThousand(b *testing.B) {
	text := []byte("rig: wall\ntarget: {color: D56}\ngroups: {all: [panel 1..4000]}\nfixtures:\n" +
		"  - {name: panel 1..4000, profile: wash.yaml, mode: 16 bit, address: 1/1, grid: {col: 1, row: 1, columns: 80}}\n")
	for b.Loop() {
		r, err := Parse("show/rig.yaml", text, fakeProfiles)
		if err != nil || len(r.Fixtures) != 4000 {
			b.Fatal(err)
		}
	}
}

// A rig file written when the watchdog was called dead_man means what it meant;
// with both names it is not clear which one is meant.
func TestTheEarlierNameOfTheWatchdogIsRead(t *testing.T) {
	for key, want := range map[string]time.Duration{"watchdog: 3 s": 3 * time.Second, "dead_man: 3 s": 3 * time.Second, "pace: 3 s": 5 * time.Second} {
		r, err := parseText(strings.Replace(goodRig, "rise: 30 %/s", "rise: 30 %/s\n  "+key, 1))
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Safety.Limits.Watchdog; got != want {
			t.Errorf("%s: %v, want %v", key, got, want)
		}
	}
	for bad, want := range map[string]string{"dead_man: 3 s\n  watchdog: 3 s": "earlier name of watchdog", "dead_man: 3 h": "500 ms to 1 min", "watchdog: 1 ms": "500 ms to 1 min"} {
		_, err := parseText(strings.Replace(goodRig, "rise: 30 %/s", "rise: 30 %/s\n  "+bad, 1))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want an error with %q", bad, err, want)
		}
	}
}

// Parameters of a sheet say how fine they are, once for neighbours that are alike.
func TestASheetSaysBitsOncePerGroup(t *testing.T) {
	p := func(name string, slots ...int) *profiles.Param { return &profiles.Param{Name: name, Slots: slots} }
	for want, all := range map[string][]*profiles.Param{
		"dimmer 16 bit; red, green 8 bit": {p("dimmer", 1, 2), p("red", 3), p("green", 4)},
		"red 8 bit":                       {p("red", 1)},
		"":                                nil,
	} {
		if got := paramWords(all); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
