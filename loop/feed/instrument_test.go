package feed

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"trueup/profiles/yamlfile"
)

const reference = "../../examples/reference-instrument.yaml"

func exampleFiles(t testing.TB) []string {
	files, err := filepath.Glob(filepath.Join(examples, "*.yaml"))
	if err != nil || len(files) < 10 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	return append(files, reference)
}

// Every example satisfies the schema that editors are given, and the schema
// refuses what the program refuses.
func TestExamplesMatchTheSchema(t *testing.T) {
	text, err := InstrumentSchema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("instrument.json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("instrument.json")
	if err != nil {
		t.Fatal(err)
	}
	check := func(data []byte) error {
		j, err := yaml.YAMLToJSON(data)
		if err != nil {
			t.Fatal(err)
		}
		v, err := jsonschema.UnmarshalJSON(strings.NewReader(string(j)))
		if err != nil {
			t.Fatal(err)
		}
		return schema.Validate(v)
	}
	for _, f := range exampleFiles(t) {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := check(data); err != nil {
			t.Errorf("%s: %v", f, err)
		}
		for _, bad := range []string{"colour: 1\n", "new: sometimes\n", "round: 3\n"} {
			key, _, _ := strings.Cut(bad, ":")
			if strings.Contains(string(data), "\n"+key+":") {
				continue
			}
			if check(append([]byte(bad), data...)) == nil {
				t.Errorf("%s with %q still matches", f, bad)
			}
		}
	}
	// The reference shows every key that the schema knows.
	var all any
	if err := json.Unmarshal(text, &all); err != nil {
		t.Fatal(err)
	}
	ref, err := os.ReadFile(reference)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	var walk func(v any)
	walk = func(v any) {
		switch x := v.(type) {
		case map[string]any:
			if props, ok := x["properties"].(map[string]any); ok {
				for k := range props {
					n++
					if !regexp.MustCompile(`(?m)(^|[\s{,#])` + regexp.QuoteMeta(k) + `:`).Match(ref) {
						t.Errorf("the reference does not show %q", k)
					}
				}
			}
			for _, e := range x {
				walk(e)
			}
		case []any:
			for _, e := range x {
				walk(e)
			}
		}
	}
	walk(all)
	if n < 60 {
		t.Errorf("the schema shows only %d keys", n)
	}
}

// A slip in a description is found, named with its line, and does not hide
// others.
func TestMistakesAreNamedWithTheirLine(t *testing.T) {
	base := []string{"instrument: Test", "read: {as: csv}", "fields:", "  x: 1", "  y: 2"}
	for _, c := range []struct {
		line int // replaced or, beyond the end, added
		text string
		want string
	}{
		{2, "read: {as: cvs}", `want json, csv, columns, regexp or osc`},
		{2, "read: {as: csv, decimal: comma}", "can not be separator and decimal sign"},
		{2, "read: {as: csv, header: yes please}", "want true or false"},
		{2, "read: {as: regexp}", "pattern"},
		{2, "read: {as: regexp, pattern: '(?P<x>'}", "is no pattern"},
		{2, "read: {as: csv, pattern: 'x'}", "goes with regexp only"},
		{2, "read: {as: csv, address: /x}", "goes with osc only"},
		{4, "  x: one", "a column name, but header is not set"},
		{4, "  x: {from: 1, unit: lx}", "has no unit"},
		{4, "  x: {from: 1, scale: 0}", "not 0"},
		{4, "  x: {form: 1}", `did you mean "from"`},
		{4, "  ex: 1", "is not known here"},
		{4, "  x: 0", "want a column number"},
		{5, "  y: -1", "want a column number"},
		{5, "  v_prime: 2", "belong together"},
		{6, "  level: {from: 3, unit: kelvin}", "want a level in one of"},
		{6, "  time: {from: 3, unit: hours}", "unix ms"},
		{6, "  seq: {from: 3, unit: s}", "no unit"},
		{6, "  saturated: 3", "which texts raise it"},
		{6, "  X: 3", "X, Y and Z belong together"},
		{6, "  duv: 3", "little without cct"},
		{6, "latency: 3", "with its unit"},
		{6, "latency: 5 min", "a time from 0 to 1m0s"},
		{6, "new: time", "fields.time is missing"},
		{6, "lines: {end: ''}", "is empty"},
		{6, "lines: {ignore: ['(']}", "is no pattern"},
		{6, "lines: {checksum: {kind: crc32}}", "want xor8"},
		{6, "lines: {block: {end: x}}", "begin"},
		{6, "lines: {block: {begin: x, end: y, lines: 3}}", "not both"},
		{6, "serial: {baud: 5}", "50"},
		{6, "serial: {framing: 9X3}", "8N1"},
		{6, "poll: {every: 1 s}", "send"},
		{6, "start: [{within: 1 s}]", "does nothing"},
		{6, "errors: [{is: fault}]", "when"},
		{6, "errors: [{when: x, is: broken}]", "want saturated"},
		{6, "spectrum: {rows: '(?P<nm>x)'}", "needs two groups"},
		{6, "spectrum: {from: 5.., start: 380 nm, end: 780 nm}", "nanometres"},
		{6, "spectrum: {from: 5.., start: 380 nm, end: 780, step: 5 nm}", "nanometres"},
		{6, "spectrum: {from: 5.., start: 380 nm, end: 783 nm, step: 5 nm}", "whole steps"},
		{6, "round: 1", "0.05"},
	} {
		lines := append([]string{}, base...)
		if c.line <= len(lines) {
			lines[c.line-1] = c.text
		} else {
			lines = append(lines, c.text)
		}
		_, err := ParseInstrument("t.yaml", []byte(strings.Join(lines, "\n")+"\n"))
		var all yamlfile.Errors
		if !errors.As(err, &all) {
			t.Errorf("%s: %v, want an error", c.text, err)
			continue
		}
		found := false
		for _, e := range all {
			if strings.Contains(e.Error(), c.want) && (e.Line == c.line || e.Line == 3) {
				found = true
			}
		}
		if !found {
			t.Errorf("%s: got\n%v\nwant %q at line %d", c.text, err, c.want, c.line)
		}
	}
	// Two at once.
	_, err := ParseInstrument("t.yaml", []byte("instrument: T\nread: {as: csv}\nfields: {x: a, y: b}\nlatency: soon\n"))
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 3 {
		t.Errorf("three mistakes gave %v", err)
	}
}

// Numbers are read as a person reads them, and nothing is guessed.
func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text     string
		comma    bool
		value    float64
		decimals int
		unit     string
	}{
		{"0.3127", false, 0.3127, 4, ""}, {" -0.0021 ", false, -0.0021, 4, ""}, {"4310 K", false, 4310, 0, "K"},
		{"12.30klx", false, 12.3, 2, "klx"}, {"1.2e3", false, 1200, -2, ""}, {"+5", false, 5, 0, ""}, {"0,3127", true, 0.3127, 4, ""},
		{"1.5E-03", false, 0.0015, 4, ""}, {"950 lx", false, 950, 0, "lx"}, {"7E", false, 7, 0, "!"},
	} {
		n, err := parseNumber(c.text, c.comma)
		if c.unit == "!" {
			if err == nil {
				t.Errorf("%q was read as %+v", c.text, n)
			}
			continue
		}
		if err != nil || n.value != c.value || n.decimals != c.decimals || n.unit != units[c.unit] && c.unit != "" {
			t.Errorf("%q: %+v, %v", c.text, n, err)
		}
	}
	for _, bad := range []string{"", "-", "nan", "NaN", "inf", "1.2.3", "1,5", "0x10", "12 apples", "1e999", "--1", "1 000"} {
		if n, err := parseNumber(bad, false); err == nil {
			t.Errorf("%q was read as %+v", bad, n)
		}
	}
	for _, bad := range []string{"1.5", "1.234,5", "1,2,3"} {
		if n, err := parseNumber(bad, true); err == nil {
			t.Errorf("%q with a decimal comma was read as %+v", bad, n)
		}
	}
}

// The check values of the checksums are those of their definitions over
// "123456789".
func TestChecksums(t *testing.T) {
	for kind, want := range map[string]uint64{"xor8": 0x31, "sum8": 0xDD, "sum8-negated": 0x23, "crc16-modbus": 0x4B37, "crc16-ccitt": 0x29B1} {
		if got := checksumKinds[kind].sum([]byte("123456789")); got != want {
			t.Errorf("%s: %X, want %X", kind, got, want)
		}
	}
	if len(checksumKinds) != 5 {
		t.Errorf("%d kinds", len(checksumKinds))
	}
}

// The OSC message of the specification's layout, byte by byte, and hostile
// ones.
func TestOSCPackets(t *testing.T) {
	good := "/reading\x00\x00\x00\x00,ffff\x00\x00\x00\x3e\x99\x99\x9a\x3e\xcc\xcc\xcd\x3f\xc0\x00\x00\x40\x00\x00\x00"
	ms, err := parseOSC([]byte(good))
	if err != nil || len(ms) != 1 || ms[0].String() != "/reading f:0.3 f:0.4 f:1.5 f:2" {
		t.Errorf("%v, %v", ms, err)
	}
	for _, bad := range []string{
		"", "/a", "/abc", "/ab\x00", "abc\x00,\x00\x00\x00", good[:32], good + "\x00\x00\x00\x00",
		"/ab\x00ffff", "/ab\x00,q\x00\x00", "/ab\x00,b\x00\x00\xff\xff\xff\xff", "/ab\x00,s\x00\x00abcd",
		"#bundle\x00", "#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x05abcde\x00\x00\x00",
		"#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00", "/a\x00\x01,\x00\x00\x00",
	} {
		if ms, err := parseOSC([]byte(bad)); err == nil {
			t.Errorf("%q was read as %v", bad, ms)
		}
	}
	for _, c := range []struct {
		pattern, address string
		want             bool
	}{
		{"/a/*/c", "/a/b/c", true}, {"/a/*/c", "/a/b/b/c", false}, {"/a/*", "/a/b/c", false}, {"/a?c", "/abc", true}, {"/a?c", "/a/c", false},
		{"/[a-c]x", "/bx", true}, {"/[!a-c]x", "/bx", false}, {"/{left,right}/xy", "/right/xy", true}, {"/{left,right}/xy", "/up/xy", false},
		{"/m*r", "/meter", true}, {"/m*r", "/metre", false}, {"/a", "/a", true}, {"/a", "/ab", false}, {"/[a", "/a", false},
	} {
		if got := oscMatch(c.pattern, c.address); got != c.want {
			t.Errorf("%s against %s: %v", c.pattern, c.address, got)
		}
	}
	// A pattern of many stars must not take for ever.
	oscMatch("/"+strings.Repeat("*a", 40), "/"+strings.Repeat("a", 200)+"b")
}

// Uneven rows are put on an even grid without moving the colour of an equal-
// energy light, which is x = y = 1/3 for any grid.
func TestUnevenSpectrum(t *testing.T) {
	var nm, v []float64
	for w := 380.0; w <= 780; w += 3.3 {
		nm, v = append(nm, w), append(v, 2)
	}
	nm[5] += 1 // not even
	s, err := even(nm, v)
	if err != nil || s.StepNM != 1 {
		t.Fatal(s, err)
	}
	xy, err := s.XY()
	if err != nil || math.Abs(xy.X-1/3.0) > 0.0005 || math.Abs(xy.Y-1/3.0) > 0.0005 {
		t.Errorf("%v %v", xy, err)
	}
	if _, err := even(nm[:60], v[:60]); err == nil {
		t.Error("a spectrum that ends at 575 nm was taken")
	}
}

// FuzzInstrument: no description makes the program fall over, and what is
// accepted can read anything.
func FuzzInstrument(f *testing.F) {
	for _, file := range exampleFiles(f) {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, []byte("0.3127,0.3290,100")) // every example as it stands
	}
	f.Add([]byte("instrument: x\nread: {as: csv}\nfields: {x: 1, y: 2}\n"), []byte(",,,,\"")) // an unclosed quote
	f.Fuzz(func(t *testing.T, description, line []byte) {
		ins, err := ParseInstrument("f.yaml", description)
		if err != nil {
			return
		}
		readAnything(t, ins, line)
	})
}

func readAnything(t *testing.T, ins *Instrument, line []byte) {
	d := newDecoder(Config{Instrument: ins}, &precision{})
	j := newJudge(DefaultConfig())
	now := time.Unix(1e9, 0)
	for _, m := range append(strings.Split(string(line), "\n"), string(line)) {
		drafts, _ := d.decode(message{data: []byte(m), topic: "a/b"}, now)
		for _, x := range drafts {
			r, aside := j.take(x, now)
			if aside != nil || r.Flags.Has(Underrange) {
				continue
			}
			if !onDiagram(r.UV) || !finite(r.Y) || r.RoundXY < 0 || !finite(r.RoundXY) || r.Integration < 0 || r.Time.After(now) {
				t.Fatalf("%q became %+v", m, r)
			}
		}
	}
}

// FuzzLine: no line, read by any of the example instruments or as our own
// JSON, becomes a reading that is not one.
func FuzzLine(f *testing.F) {
	var all []*Instrument
	for _, file := range exampleFiles(f) {
		ins, err := LoadInstrument(file)
		if err != nil {
			f.Fatal(err)
		}
		all = append(all, ins)
		r, err := os.Open("testdata/dialogues/" + strings.TrimSuffix(filepath.Base(file), ".yaml") + ".jsonl")
		if err != nil {
			continue // the reference has no dialogue
		}
		ts, err := ReadRecording(file, r, time.Time{})
		r.Close()
		if err != nil {
			f.Fatal(err)
		}
		for _, m := range ts {
			f.Add(m.Data) // what real ones sent
		}
	}
	f.Add([]byte(`{"x":0.3,"y":1e-320,"lux":1e308,"time_unix_ms":-1e13,"integration_ms":6e4}`)) // edges of float
	f.Add([]byte("CCT= 99999 K D= +99.9 E= 1e300"))                                             // far beyond the locus
	f.Fuzz(func(t *testing.T, line []byte) {
		readAnything(t, nil, line)
		for _, ins := range all {
			readAnything(t, ins, line)
		}
	})
}

// FuzzOSC: no packet makes the decoder fall over or grow without bound.
func FuzzOSC(f *testing.F) {
	f.Add([]byte("/a\x00\x00,f\x00\x00\x3e\x99\x99\x9a"))                                               // a plain message
	f.Add([]byte("#bundle\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x08/a\x00\x00,\x00\x00\x00")) // a bundle
	f.Fuzz(func(t *testing.T, b []byte) {
		ms, err := parseOSC(b)
		if err == nil && len(ms) > len(b)/4 {
			t.Fatalf("%d messages in %d bytes", len(ms), len(b))
		}
	})
}

// FuzzRecording: a recording that is read can be written and read again.
func FuzzRecording(f *testing.F) {
	f.Add("{\"ms\":0,\"from\":\"a\"}\n{\"ms\":2.5,\"to_hex\":\"00ff\"}\n{\"ms\":3,\"note\":\"x\"}\n") // each kind of line
	f.Fuzz(func(t *testing.T, s string) {
		base := time.Unix(0, 0)
		ts, err := ReadRecording("f", strings.NewReader(s), base)
		if err != nil {
			return
		}
		var b strings.Builder
		r := NewRecorder(&b, base)
		for _, x := range ts {
			r.Tap(x)
		}
		again, err := ReadRecording("f", strings.NewReader(b.String()), base)
		if err != nil || len(again) != len(ts) {
			t.Fatalf("%v: %d of %d lines", err, len(again), len(ts))
		}
		for i := range ts {
			if string(ts[i].Data) != string(again[i].Data) || ts[i].Sent != again[i].Sent {
				t.Fatalf("line %d: %q became %q", i, ts[i].Data, again[i].Data)
			}
		}
	})
}
