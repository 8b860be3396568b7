package instrument

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

const reference = "../../../examples/reference-instrument.yaml"

func exampleFiles(t testing.TB) []string {
	files, err := filepath.Glob(filepath.Join("../../../examples/instruments", "*.yaml"))
	if err != nil || len(files) < 10 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	return append(files, reference)
}

// Every example satisfies the schema that editors are given, and the schema
// refuses what the program refuses.
func TestExamplesMatchTheSchema(t *testing.T) {
	text, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("json", doc); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("json")
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
		_, err := Parse("t.yaml", []byte(strings.Join(lines, "\n")+"\n"))
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
	_, err := Parse("t.yaml", []byte("instrument: T\nread: {as: csv}\nfields: {x: a, y: b}\nlatency: soon\n"))
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
		ins, err := Parse("f.yaml", description)
		if err != nil {
			return
		}
		d := NewDecoder(ins, &Precision{})
		for _, m := range append(strings.Split(string(line), "\n"), string(line)) {
			drafts, _ := d.Decode(Message{Data: []byte(m), Topic: "a/b"}, time.Unix(1e9, 0))
			for _, x := range drafts {
				if x.RoundXY < 0 || !finite(x.RoundXY) || x.Integration < 0 || len(x.Probe) > 64 || len(x.Raw) > 600 {
					t.Fatalf("%q became %+v", m, x)
				}
			}
		}
	})
}
